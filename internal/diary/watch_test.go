package diary_test

import (
	"reflect"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// taking is one slot in the first room, on a day of January 2027.
func taking(dayOfMonth int, start day.Clock, says string) diary.Taken {
	return diary.Taken{Slot: graft.Slot{Day: day.New(2027, 1, dayOfMonth), Start: start, Minutes: 20, Room: "Surgery 1", Person: "Nurse Wyn Tate"}, Case: "HR-2044", Says: says}
}

// TestBooksThatDifferTellTheDays changes one thing of a book at a time.
func TestBooksThatDifferTellTheDays(t *testing.T) {
	of := func(taken ...diary.Taken) *diary.Book { return diary.NewBook(taken) }
	changed := func(change func(*diary.Taken)) *diary.Book {
		last := taking(20, 600, "b")
		change(&last)
		return of(taking(11, 540, "a"), last)
	}
	base := changed(func(*diary.Taken) {})
	for name, c := range map[string]struct {
		a, b *diary.Book
		want []int
	}{
		"the same":            {base, changed(func(*diary.Taken) {}), nil},
		"none at all":         {of(), of(), nil},
		"one is empty":        {of(), base, []int{11, 20}},
		"one day more before": {base, of(taking(4, 540, "c"), taking(11, 540, "a"), taking(20, 600, "b")), []int{4}},
		"one day more behind": {base, of(taking(11, 540, "a"), taking(20, 600, "b"), taking(29, 540, "c")), []int{29}},
		"one more that day":   {base, of(taking(11, 540, "a"), taking(11, 600, "c"), taking(20, 600, "b")), []int{11}},
		"another day":         {base, changed(func(t *diary.Taken) { t.Day = t.Day.AddDays(1) }), []int{20, 21}},
		"another time":        {base, changed(func(t *diary.Taken) { t.Start += 5 }), []int{20}},
		"longer":              {base, changed(func(t *diary.Taken) { t.Minutes += 5 }), []int{20}},
		"another room":        {base, changed(func(t *diary.Taken) { t.Room = "Surgery 2" }), []int{20}},
		"no room":             {base, changed(func(t *diary.Taken) { t.Room = "" }), []int{20}},
		"another person":      {base, changed(func(t *diary.Taken) { t.Person = "Dr Alba Quill" }), []int{20}},
		"another case":        {base, changed(func(t *diary.Taken) { t.Case = "HR-2045" }), []int{20}},
		"another name":        {base, changed(func(t *diary.Taken) { t.Says = "c" }), []int{20}},
		"names in other order": {of(taking(11, 540, "a"), diary.Taken{Slot: graft.Slot{Day: day.New(2027, 1, 12), Room: "Surgery 2"}}),
			of(diary.Taken{Slot: graft.Slot{Day: day.New(2027, 1, 12), Room: "Surgery 2"}}, taking(11, 540, "a")), nil},
	} {
		var want []day.Day
		for _, dayOfMonth := range c.want {
			want = append(want, day.New(2027, 1, dayOfMonth))
		}
		for way, got := range map[string][]day.Day{"there": c.a.Unlike(c.b), "back": c.b.Unlike(c.a)} {
			if !slices.Equal(got, want) {
				t.Errorf("%s, %s: %v, want %v", name, way, got, want)
			}
		}
	}
}

// TestAPlanHoldsWhileTheDaysItLookedAtDo plans by a watched book, lets others take and
// give up time on days that were not looked at, and wants the same plan. On days that
// were, it must come out otherwise now and then.
func TestAPlanHoldsWhileTheDaysItLookedAtDo(t *testing.T) {
	apart, otherwise := 0, 0
	for seed := range uint64(1000) {
		s := someSmall(seed)
		looked := map[day.Day]bool{}
		book := s.r.Book
		s.r.Book = book.Watched(func(d day.Day) { looked[d] = true })
		plan := diary.PlaceAll(s.r, s.c)
		var away, onThose []diary.Taken
		for _, taken := range s.taken {
			if looked[taken.Day] {
				away = append(away, taken)
			} else {
				onThose = append(onThose, taken)
			}
		}
		for range 10 {
			more := diary.Taken{Slot: graft.Slot{Day: s.someDay(), Start: 480, Minutes: 180, Room: "R1", Person: "Q"}, Case: "HR-3"}
			if !looked[more.Day] {
				away = append(away, more)
			}
			onThose = append(onThose, more)
		}
		s.r.Book = diary.NewBook(away)
		for _, d := range book.Unlike(s.r.Book) {
			apart++
			if looked[d] {
				t.Fatalf("seed %d: %s was changed by mistake", seed, d)
			}
		}
		if again := diary.PlaceAll(s.r, s.c); !reflect.DeepEqual(plan, again) {
			t.Fatalf("seed %d: another plan (-was +is):\n%s", seed, cmp.Diff(plan, again, cmp.Comparer(func(a, b day.Day) bool { return a == b })))
		}
		s.r.Book = diary.NewBook(onThose)
		if !reflect.DeepEqual(plan, diary.PlaceAll(s.r, s.c)) {
			otherwise++
		}
	}
	t.Logf("%d days changed that were not looked at; %d plans came out otherwise by days that were", apart, otherwise)
	if apart < 1000 || otherwise < 300 {
		t.Error("too few to tell")
	}
}
