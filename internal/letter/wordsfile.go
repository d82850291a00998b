package letter

import (
	"fmt"
	"maps"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/table"
)

const (
	daysInWeek   = 7
	monthsInYear = 12
)

// pluralClasses are the plural classes of CLDR that a language may have.
var pluralClasses = []string{"zero", "one", "two", "few", "many", "other"}

var (
	regionGrammar = &table.Grammar{Name: "an ISO 3166-1 region", Pattern: "[A-Z]{2}"}
	wordsShape    = shapeOf(reflect.TypeFor[wording]())
)

// keysOf are the keys that a map of the words file must hold, by the type of its keys.
var keysOf = map[reflect.Type][]string{
	reflect.TypeFor[graft.Side]():     texts([]graft.Side{graft.Right, graft.Left}),
	reflect.TypeFor[graft.Step]():     texts(graft.Steps),
	reflect.TypeFor[graft.Approach](): texts([]graft.Approach{graft.LateralWindow, graft.Transcrestal}),
	reflect.TypeFor[preset]():         Presets,
}

func texts[T ~string](list []T) []string {
	all := make([]string, len(list))
	for i, t := range list {
		all[i] = string(t)
	}
	return all
}

// keyOf is the key under which a field stands in the file, and whether it may be absent.
func keyOf(f reflect.StructField) (key string, optional bool) {
	key, options, _ := strings.Cut(f.Tag.Get("yaml"), ",")
	if key == "" {
		key = strings.ToLower(f.Name)
	}
	return key, options == "optional"
}

// shapeOf describes what a words file may hold, from the type it is read into: every
// key must be there, and say something, unless its field is optional.
func shapeOf(t reflect.Type) table.Shape {
	switch t.Kind() {
	case reflect.Struct:
		var fields []table.Field
		for f := range t.Fields() {
			key, optional := keyOf(f)
			fields = append(fields, fieldOf(key, optional, shapeOf(f.Type)))
		}
		return table.Map("", fields...)
	case reflect.Slice:
		return table.List("", 1, shapeOf(t.Elem()))
	case reflect.Map:
		return mapShape(t)
	case reflect.Bool:
		return table.Bool("")
	}
	return table.Text("")
}

func fieldOf(key string, optional bool, s table.Shape) table.Field {
	if optional {
		return table.May(key, s)
	}
	return table.Must(key, s)
}

func mapShape(t reflect.Type) table.Shape {
	of := shapeOf(t.Elem())
	var fields []table.Field
	switch keys, closed := keysOf[t.Key()]; {
	case t == reflect.TypeFor[counted]():
		for _, class := range pluralClasses {
			fields = append(fields, fieldOf(class, class != "other", of))
		}
	case closed:
		for _, key := range keys {
			fields = append(fields, table.Must(key, of))
		}
	default:
		return table.Keyed("", regionGrammar, of)
	}
	return table.Map("", fields...)
}

// take fills a place of the wording from the value read; what is absent stays empty.
func take(into reflect.Value, v *table.Value) {
	switch into.Kind() {
	case reflect.Struct:
		for i := range into.NumField() {
			key, _ := keyOf(into.Type().Field(i))
			take(into.Field(i), v.Get(key))
		}
	case reflect.Slice:
		for _, item := range v.Items() {
			one := reflect.New(into.Type().Elem()).Elem()
			take(one, item)
			into.Set(reflect.Append(into, one))
		}
	case reflect.Map:
		into.Set(reflect.MakeMap(into.Type()))
		for _, e := range v.Entries() {
			one := reflect.New(into.Type().Elem()).Elem()
			take(one, e.Value)
			into.SetMapIndex(reflect.ValueOf(e.Key).Convert(into.Type().Key()), one)
		}
	case reflect.Bool:
		into.SetBool(v.Bool(false))
	case reflect.String:
		into.SetString(v.Text())
	}
}

// readWords reads a words file and holds it against a model, the English words: each
// sentence must take the same {names}, and the signs be the same. A nil model asks for
// nothing more than that every word is there.
func readWords(file string, data []byte, model *wording) (*wording, table.Faults) {
	v := table.Read(file, data, wordsShape)
	if len(v.Faults()) > 0 {
		return nil, v.Faults()
	}
	var w wording
	take(reflect.ValueOf(&w).Elem(), v)
	w.checkLists(v)
	if model != nil {
		w.checkSigns(v, model)
		checkNames(v, reflect.ValueOf(w), reflect.ValueOf(*model))
	}
	if faults := v.Faults(); len(faults) > 0 {
		return nil, faults
	}
	return &w, nil
}

// checkLists complains of weeks and years of a wrong length, of a sign that asks for
// nothing and of one that is there twice.
func (w *wording) checkLists(v *table.Value) {
	whole := func(path string, got, want int) {
		if got != want {
			complain(v, path, fmt.Sprintf("%d names", got), fmt.Sprintf("%d", want))
		}
	}
	whole("dates.weekdays", len(w.Dates.Weekdays), daysInWeek)
	whole("dates.months", len(w.Dates.Months), monthsInYear)
	for region, words := range w.Regions {
		if len(words.Months) > 0 {
			whole("regions."+region+".months", len(words.Months), monthsInYear)
		}
	}
	var ids []string
	for i, s := range w.Signs {
		switch place := fmt.Sprintf("signs[%d]", i); {
		case s.SameDay == "" && s.Emergency == "":
			complain(v, place, s.ID+" asks for nothing", "same_day, emergency or both")
		case slices.Contains(ids, s.ID):
			complain(v, place, s.ID+" a second time", "each sign once")
		}
		ids = append(ids, s.ID)
	}
}

// checkSigns complains of signs that are not those of the model: a red flag must not be
// lost in a translation.
func (w *wording) checkSigns(v *table.Value, model *wording) {
	for i, want := range model.Signs {
		if i >= len(w.Signs) {
			complain(v, "signs", want.ID+" is missing", fmt.Sprintf("the %d signs of the English words, in their order", len(model.Signs)))
			continue
		}
		if got := w.Signs[i]; got.ID != want.ID || !sameFilled(got, want) {
			complain(v, fmt.Sprintf("signs[%d]", i), fmt.Sprintf("%s with %s", got.ID, got.filled()), fmt.Sprintf("%s with %s", want.ID, want.filled()))
		}
	}
	if len(w.Signs) > len(model.Signs) {
		complain(v, fmt.Sprintf("signs[%d]", len(model.Signs)), fmt.Sprintf("%d signs", len(w.Signs)), fmt.Sprintf("the %d signs of the English words", len(model.Signs)))
	}
}

func sameFilled(a, b sign) bool { return a.filled() == b.filled() }

// filled names the fields of a sign that say something.
func (s sign) filled() string {
	var names []string
	for _, f := range []struct{ name, says string }{{"normal", s.Normal}, {"same_day", s.SameDay}, {"emergency", s.Emergency}} {
		if f.says != "" {
			names = append(names, f.name)
		}
	}
	return strings.Join(names, ", ")
}

var braces = regexp.MustCompile(`\{[^{}]*\}`)

// checkNames complains of a sentence whose {names} are not those that the program fills
// in there: one that is lost would drop a day or a number from the letter.
func checkNames(v *table.Value, words, model reflect.Value) {
	allowed, needed := map[string][]string{}, map[string][]string{}
	eachText(model, "", func(path, text string) {
		place := general(path)
		allowed[place] = append(allowed[place], braces.FindAllString(text, -1)...)
		if place == path {
			needed[place] = braces.FindAllString(text, -1)
		}
	})
	for _, form := range []string{"day", "day_without_year"} {
		allowed["regions.*."+form], needed["regions.*."+form] = needed["dates."+form], needed["dates."+form]
	}
	eachText(words, "", func(path, text string) {
		got := braces.FindAllString(text, -1)
		may := allowed[general(path)]
		for _, name := range got {
			if !slices.Contains(may, name) {
				complain(v, path, name+" in "+quoted(text), "of names only "+orNone(may))
			}
		}
		for _, name := range needed[general(path)] {
			if !slices.Contains(got, name) {
				complain(v, path, quoted(text)+" without "+name, "a sentence with "+orNone(needed[general(path)]))
			}
		}
	})
}

// complain records a fault at a path of the file, or at the nearest place above it that
// is there.
func complain(v *table.Value, path, found, allowed string) {
	nearest := v
	for _, key := range strings.FieldsFunc(path, func(r rune) bool { return r == '.' || r == '[' }) {
		var next *table.Value
		if n, err := strconv.Atoi(strings.TrimSuffix(key, "]")); err == nil && strings.HasSuffix(key, "]") {
			if items := nearest.Items(); n < len(items) {
				next = items[n]
			}
		} else {
			next = nearest.Get(key)
		}
		if next == nil {
			break
		}
		nearest = next
	}
	nearest.FaultAt(path, found, allowed, "")
}

func quoted(text string) string { return fmt.Sprintf("%q", text) }

func orNone(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(slices.Compact(slices.Sorted(slices.Values(names))), ", ")
}

var (
	pluralEnd  = regexp.MustCompile(`\.(` + strings.Join(pluralClasses, "|") + `)$`)
	regionPart = regexp.MustCompile(`^regions\.[A-Z]{2}\.`)
	itemPart   = regexp.MustCompile(`\[[0-9]+\]`)
)

// general is a path without what differs between languages: the class of a plural, the
// region, the place in a list.
func general(path string) string {
	path = regionPart.ReplaceAllString(path, "regions.*.")
	if !strings.HasPrefix(path, "signs") {
		path = itemPart.ReplaceAllString(path, "[]")
	}
	return pluralEnd.ReplaceAllString(path, ".*")
}

// eachText visits every text of a wording with its path in the file.
func eachText(v reflect.Value, path string, visit func(path, text string)) {
	under := func(key string) string { return strings.TrimPrefix(path+"."+key, ".") }
	switch v.Kind() {
	case reflect.String:
		if v.String() != "" {
			visit(path, v.String())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			key, _ := keyOf(v.Type().Field(i))
			eachText(v.Field(i), under(key), visit)
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachText(v.Index(i), fmt.Sprintf("%s[%d]", path, i), visit)
		}
	case reflect.Map:
		keys := slices.SortedFunc(slices.Values(v.MapKeys()), func(a, b reflect.Value) int { return strings.Compare(a.String(), b.String()) })
		for _, key := range keys {
			eachText(v.MapIndex(key), under(key.String()), visit)
		}
	}
}

// regionsOf lists the regions of a wording, sorted.
func (w *wording) regionsOf() []string { return slices.Sorted(maps.Keys(w.Regions)) }
