package desk_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"graftclock/internal/clinic"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/password"
	"graftclock/internal/protocol"
)

// Passwords of the tests. None may ever be found in the history.
const (
	herons = "seven herons by the weir"
	kettle = "a kettle under the stairs"
)

// stale is a published hash of the word password, made at a cost of long ago
// (github.com/P-H-C/phc-winner-argon2, src/test.c).
const stale = "$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4"

// evening is when people sign in.
var evening = time.Date(2027, time.January, 18, 18, 30, 0, 0, time.UTC)

func atTerminal() desk.Actor { return desk.Terminal(evening, on("2027-01-18")) }

// leftBy is the same ledger at a clinic that somebody has left.
func leftBy(t *testing.T, store desk.Store, name string) *desk.Keeper {
	t.Helper()
	c := demoClinic(t)
	var stay []clinic.Person
	for _, p := range c.People {
		if p.Name != name {
			stay = append(stay, p)
		}
	}
	c.People = stay
	return desk.NewKeeper(desk.New(c, protocol.Default()), store)
}

// entriesOf returns the whole history, and wants no password and no hash in it.
func entriesOf(t *testing.T, store desk.Store) (entries []ledger.Entry) {
	t.Helper()
	if err := store.View(func(l desk.Ledger) (err error) { entries, err = l.EntriesAfter(0); return err }); err != nil {
		t.Fatal(err)
	}
	for _, secret := range []string{herons, kettle, "argon2id"} {
		if strings.Contains(fmt.Sprint(entries), secret) {
			t.Errorf("the history holds %q", secret)
		}
	}
	return entries
}

// lastEntry returns the latest entry in words: what, by whom, was, now, why.
func lastEntry(t *testing.T, store desk.Store) string {
	t.Helper()
	entries := entriesOf(t, store)
	if len(entries) == 0 {
		return ""
	}
	e := entries[len(entries)-1]
	return strings.Join([]string{e.What, e.By.Name, e.By.Role, string(e.Case), e.Was, e.Now, e.Why}, "|")
}

// opened gives a person a password from the terminal.
func opened(t *testing.T, k *desk.Keeper, name, secret string) {
	t.Helper()
	if err := k.SetPassword(atTerminal(), name, secret); err != nil {
		t.Fatal(err)
	}
}

func TestSignInLetsInWhoKnowsThePassword(t *testing.T) {
	k, store := keeping(t)
	opened(t, k, "Ida Marlow", herons)
	if got, want := lastEntry(t, store), "password|at the terminal|terminal|||first set for Ida Marlow|"; got != want {
		t.Errorf("history: %s, want %s", got, want)
	}
	person, version, err := k.SignIn("Ida Marlow", herons, evening)
	if err != nil || person != (ledger.Person{Name: "Ida Marlow", Role: "desk"}) || version != 1 {
		t.Errorf("%v, %d, %v", person, version, err)
	}
	if got, want := lastEntry(t, store), "sign in|Ida Marlow|desk||||"; got != want {
		t.Errorf("history: %s, want %s", got, want)
	}
	if entries := entriesOf(t, store); len(entries) != 2 || !entries[1].At.Equal(evening) {
		t.Errorf("%v", entries)
	}
	again, err := k.SignedIn("Ida Marlow", version)
	if err != nil || again != person {
		t.Errorf("%v, %v", again, err)
	}
	if n := len(entriesOf(t, store)); n != 2 {
		t.Errorf("to look at a session wrote an entry: %d", n)
	}
}

// TestSignInRefusesAllAlike wants one refusal for every reason, and the reason in the
// history alone.
func TestSignInRefusesAllAlike(t *testing.T) {
	k, store := keeping(t)
	opened(t, k, "Ida Marlow", herons)
	opened(t, k, "Nurse Wyn Tate", kettle)
	if err := k.EndAccount(atTerminal(), "Nurse Wyn Tate"); err != nil {
		t.Fatal(err)
	}
	left := leftBy(t, store, "Ida Marlow")
	var first *graft.Refusal
	for _, c := range []struct {
		keeper             *desk.Keeper
		name, secret, says string
	}{
		{k, "Ida Marlow", kettle, "Ida Marlow|desk||||wrong password"},
		{k, "Ida Marlow", "", "Ida Marlow|desk||||wrong password"},
		{k, "Ida Marlow", herons + " ", "Ida Marlow|desk||||wrong password"},
		{k, "Nurse Wyn Tate", kettle, "Nurse Wyn Tate|nurse||||the sign-in has ended"},
		{k, "Nurse Wyn Tate", "", "Nurse Wyn Tate|nurse||||the sign-in has ended"},
		{k, "Dr Alba Quill", herons, "Dr Alba Quill|surgeon||||has no sign-in"},
		{left, "Ida Marlow", herons, "Ida Marlow|||||no longer in the clinic file"},
		{k, herons, "Ida Marlow", "|||||a name that nobody has"},
		{k, "ida marlow", herons, "|||||a name that nobody has"},
		{k, "", "", "|||||a name that nobody has"},
	} {
		person, version, err := c.keeper.SignIn(c.name, c.secret, evening)
		var refusal *graft.Refusal
		if !errors.As(err, &refusal) || person != (ledger.Person{}) || version != 0 {
			t.Fatalf("%s: %v, %d, %v", c.name, person, version, err)
		}
		if first == nil {
			first = refusal
		}
		if *refusal != *first || err.Error() != first.Error() {
			t.Errorf("%s is told %+v, the first %+v", c.name, refusal, first)
		}
		if got, want := lastEntry(t, store), "sign in refused|"+c.says; got != want {
			t.Errorf("%s: history: %s, want %s", c.name, got, want)
		}
	}
	if _, _, err := k.SignIn("Ida Marlow", herons, evening); err != nil {
		t.Errorf("after all that: %v", err)
	}
}

// TestASessionEndsWithThePassword looks at sessions after what must end them.
func TestASessionEndsWithThePassword(t *testing.T) {
	k, store := keeping(t)
	opened(t, k, "Ida Marlow", herons)
	_, version, err := k.SignIn("Ida Marlow", herons, evening)
	if err != nil {
		t.Fatal(err)
	}
	ended := func(what string, k *desk.Keeper) {
		t.Helper()
		_, err := k.SignedIn("Ida Marlow", version)
		if err == nil {
			t.Errorf("%s: the session stands", what)
		}
		refusalOf(t, err, graft.Invalid, "sign in again")
	}
	ended("they have left", leftBy(t, store, "Ida Marlow"))
	if _, err := k.SignedIn("Ida Marlow", version); err != nil {
		t.Errorf("back again: %v", err)
	}
	for _, other := range []int{0, version - 1, version + 1} {
		if _, err := k.SignedIn("Ida Marlow", other); err == nil {
			t.Errorf("a session of version %d stands", other)
		}
	}
	if _, err := k.SignedIn("Nurse Wyn Tate", 0); err == nil {
		t.Error("a session of one without a sign-in stands")
	}
	opened(t, k, "Ida Marlow", kettle)
	ended("the password was changed", k)
	if _, version, err = k.SignIn("Ida Marlow", kettle, evening); err != nil || version != 2 {
		t.Fatal(version, err)
	}
	if _, _, err := k.SignIn("Ida Marlow", herons, evening); err == nil {
		t.Error("the old password still lets in")
	}
	if err := k.EndAccount(atTerminal(), "Ida Marlow"); err != nil {
		t.Fatal(err)
	}
	ended("the sign-in was ended", k)
	opened(t, k, "Ida Marlow", kettle)
	ended("it stands again with the same password", k)
	if _, err := k.SignedIn("Ida Marlow", 3); err != nil {
		t.Error(err)
	}
}

// TestARoleIsThatOfTheClinicFile changes it under a session.
func TestARoleIsThatOfTheClinicFile(t *testing.T) {
	k, store := keeping(t)
	opened(t, k, "Ida Marlow", herons)
	c := demoClinic(t)
	for n := range c.People {
		if c.People[n].Name == "Ida Marlow" {
			c.People[n].Role = "nurse"
		}
	}
	other := desk.NewKeeper(desk.New(c, protocol.Default()), store)
	if p, err := other.SignedIn("Ida Marlow", 1); err != nil || p.Role != "nurse" {
		t.Errorf("%v, %v", p, err)
	}
	if p, _, err := other.SignIn("Ida Marlow", herons, evening); err != nil || p.Role != "nurse" {
		t.Errorf("%v, %v", p, err)
	}
}

// TestAnOldHashIsMadeAnew signs in with a hash of an earlier cost.
func TestAnOldHashIsMadeAnew(t *testing.T) {
	k, store := keeping(t)
	if err := store.Act(func(w desk.Writing) error {
		return w.SetAccount(ledger.Account{Name: "Ida Marlow", Hash: stale, Version: 4, At: evening, By: "Dr Alba Quill"}, ledger.Entry{})
	}); err != nil {
		t.Fatal(err)
	}
	kept := func() (a ledger.Account) {
		t.Helper()
		if err := store.View(func(l desk.Ledger) (err error) { a, err = l.Account("Ida Marlow"); return err }); err != nil {
			t.Fatal(err)
		}
		return a
	}
	if _, _, err := k.SignIn("Ida Marlow", "passwort", evening); err == nil || kept().Hash != stale {
		t.Errorf("a wrong password made it anew: %v", err)
	}
	for range 2 {
		if _, version, err := k.SignIn("Ida Marlow", "password", evening.Add(time.Hour)); err != nil || version != 4 {
			t.Errorf("version %d, %v", version, err)
		}
	}
	a := kept()
	if password.Stale(a.Hash) || a.Version != 4 || !a.At.Equal(evening) || a.By != "Dr Alba Quill" {
		t.Errorf("%+v", a)
	}
	if n := len(entriesOf(t, store)); n != 4 {
		t.Errorf("%d entries", n)
	}
}

// meddling is a store at which another desk acts just before the next act.
type meddling struct {
	desk.Store
	before func()
}

func (m *meddling) Act(do func(desk.Writing) error) error {
	if before := m.before; before != nil {
		m.before = nil
		before()
	}
	return m.Store.Act(do)
}

// TestAPasswordChangedMeanwhileLetsNobodyIn changes the password, or ends the sign-in,
// while the old one is compared.
func TestAPasswordChangedMeanwhileLetsNobodyIn(t *testing.T) {
	for what, meddle := range map[string]func(*desk.Keeper) error{
		"changed": func(k *desk.Keeper) error { return k.SetPassword(atTerminal(), "Ida Marlow", kettle) },
		"ended":   func(k *desk.Keeper) error { return k.EndAccount(atTerminal(), "Ida Marlow") },
	} {
		k, store := keeping(t)
		opened(t, k, "Ida Marlow", herons)
		m := &meddling{Store: store, before: func() {
			if err := meddle(k); err != nil {
				t.Error(err)
			}
		}}
		_, _, err := desk.NewKeeper(k.Desk, m).SignIn("Ida Marlow", herons, evening)
		refusalOf(t, err, graft.Invalid, "do not match")
		if got, want := lastEntry(t, store), "sign in refused|Ida Marlow|desk||||the password was changed meanwhile"; got != want {
			t.Errorf("%s: history: %s, want %s", what, got, want)
		}
	}
}

func TestWhoSetsWhosePassword(t *testing.T) {
	k, store := keeping(t)
	ida, quill, tate := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18"), acting(t, k, "Nurse Wyn Tate", "2027-01-18")
	for _, c := range []struct {
		a                         desk.Actor
		name, secret, says, entry string
	}{
		{ida, "Ida Marlow", herons, "", "password|Ida Marlow|desk|||first set for Ida Marlow|"},
		{quill, "Ida Marlow", kettle, "", "password|Dr Alba Quill|surgeon|||set for Ida Marlow|"},
		{quill, "Dr Alba Quill", herons, "", "password|Dr Alba Quill|surgeon|||first set for Dr Alba Quill|"},
		{ida, "Dr Alba Quill", kettle, "needs a surgeon; Ida Marlow is desk", "refused|Ida Marlow|desk|||password: setting the password of another needs a surgeon; Ida Marlow is desk|"},
		{tate, "Ida Marlow", herons, "needs a surgeon", "refused|Nurse Wyn Tate|nurse|||password: setting the password of another needs a surgeon; Nurse Wyn Tate is nurse|"},
		{quill, "Nobody Known", herons, `no person "Nobody Known"`, `refused|Dr Alba Quill|surgeon|||password: the clinic file has no person "Nobody Known"|`},
		{atTerminal(), "Nobody Known", herons, `no person "Nobody Known"`, `refused|at the terminal|terminal|||password: the clinic file has no person "Nobody Known"|`},
		{ida, "Ida Marlow", "too short", "at least 12", "refused|Ida Marlow|desk|||password: the password has 9 characters; it needs at least 12 (several spaces in a row count as one)|"},
		{ida, "Ida Marlow", "Ida Marlow 2027!", "own name", "refused|Ida Marlow|desk|||password: the password is the person's own name|"},
		{desk.Actor{Person: ledger.Person{Name: "x", Role: "terminal"}}, "Ida Marlow", herons, "needs a surgeon", "refused|x|terminal|||password: setting the password of another needs a surgeon; x is terminal|"},
	} {
		err := k.SetPassword(c.a, c.name, c.secret)
		if c.says == "" && err != nil {
			t.Errorf("%s for %s: %v", c.a.Name, c.name, err)
		} else if c.says != "" {
			refusalOf(t, err, graft.Invalid, c.says)
		}
		if got := lastEntry(t, store); got != c.entry {
			t.Errorf("%s for %s: history: %s, want %s", c.a.Name, c.name, got, c.entry)
		}
	}
	if _, version, err := k.SignIn("Ida Marlow", kettle, evening); err != nil || version != 2 {
		t.Errorf("version %d, %v", version, err)
	}
}

func TestWhoEndsASignIn(t *testing.T) {
	k, store := keeping(t)
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	opened(t, k, "Ida Marlow", herons)
	opened(t, k, "Nurse Wyn Tate", kettle)
	refusalOf(t, k.EndAccount(ida, "Ida Marlow"), graft.Invalid, "ending a sign-in needs a surgeon")
	if got, want := lastEntry(t, store), "refused|Ida Marlow|desk|||end sign-in: ending a sign-in needs a surgeon; Ida Marlow is desk|"; got != want {
		t.Errorf("history: %s, want %s", got, want)
	}
	if err := leftBy(t, store, "Ida Marlow").EndAccount(quill, "Ida Marlow"); err != nil {
		t.Errorf("of one who has left: %v", err)
	}
	if got, want := lastEntry(t, store), "end sign-in|Dr Alba Quill|surgeon||Ida Marlow could sign in|Ida Marlow cannot sign in|"; got != want {
		t.Errorf("history: %s, want %s", got, want)
	}
	refusalOf(t, k.EndAccount(quill, "Ida Marlow"), graft.NotFound, "has ended already")
	refusalOf(t, k.EndAccount(quill, "Dr Alba Quill"), graft.NotFound, "Dr Alba Quill")
	accounts, err := k.Accounts()
	if err != nil || len(accounts) != 2 || accounts[0].Name != "Ida Marlow" || accounts[0].Ended.IsZero() || !accounts[1].Ended.IsZero() {
		t.Errorf("%+v, %v", accounts, err)
	}
	for _, a := range accounts {
		if a.Hash != "" {
			t.Errorf("the hash of %s is handed out", a.Name)
		}
	}
}

// TestTheTerminalIsNoSurgeon asks for a clinical act in its name.
func TestTheTerminalIsNoSurgeon(t *testing.T) {
	k, _ := keeping(t)
	id := admit(t, k, acting(t, k, "Ida Marlow", "2027-01-18"), "fenwick")
	_, err := k.Approve(atTerminal(), id)
	refusalOf(t, err, graft.Invalid, "approving needs a surgeon")
}

func TestDraftsAreOnesOwn(t *testing.T) {
	k, store := keeping(t)
	ida, tate := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Nurse Wyn Tate", "2027-01-18")
	_, err := k.Draft(ida, "record")
	refusalOf(t, err, graft.NotFound, "draft")
	most := []byte(strings.Repeat("x", 64<<10))
	if err := k.KeepDraft(ida, "record", most); err != nil {
		t.Fatal(err)
	}
	if d, err := k.Draft(ida, "record"); err != nil || string(d.Fields) != string(most) || !d.At.Equal(ida.At) || d.Who != "Ida Marlow" {
		t.Errorf("%d bytes, %v", len(d.Fields), err)
	}
	_, err = k.Draft(tate, "record")
	refusalOf(t, err, graft.NotFound, "draft")
	if n := len(entriesOf(t, store)); n != 0 {
		t.Errorf("%d entries of drafts", n)
	}
	refusalOf(t, k.KeepDraft(ida, "record", append(most, 'x')), graft.Invalid, "65537 bytes")
	if err := k.DropDraft(tate, "record"); err != nil {
		t.Error(err)
	}
	if d, err := k.Draft(ida, "record"); err != nil || len(d.Fields) != len(most) {
		t.Errorf("another's drop, or one too long, took it: %v", err)
	}
	later := ida
	later.At = ida.At.Add(30*24*time.Hour + time.Second)
	if err := k.KeepDraft(later, "find", nil); err != nil {
		t.Fatal(err)
	}
	_, err = k.Draft(ida, "record")
	refusalOf(t, err, graft.NotFound, "draft")
	if err := k.DropDraft(ida, "find"); err != nil {
		t.Error(err)
	}
	_, err = k.Draft(ida, "find")
	refusalOf(t, err, graft.NotFound, "draft")
}
