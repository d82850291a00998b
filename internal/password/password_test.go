package password

import (
	"strings"
	"testing"
	"testing/synctest"
)

// published are hashes of the reference implementation's own tests (github.com/P-H-C/
// phc-winner-argon2, src/test.c, argon2id of version 19). The vector of RFC 9106 section
// 5.3 has a secret and associated data, which the library does not take.
var published = []struct{ password, hash string }{
	{"password", "$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4"},
	{"password", "$argon2id$v=19$m=256,t=2,p=2$c29tZXNhbHQ$bQk8UB/VmZZF4Oo79iDXuL5/0ttZwg2f/5U52iv1cDc"},
	{"password", "$argon2id$v=19$m=65536,t=1,p=1$c29tZXNhbHQ$9qWtwbpyPd3vm1rB1GThgPzZ3/ydHL92zKL+15XZypg"},
	{"differentpassword", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$C4TWUs9rDEvq7w3+J4umqA32aWKB1+DSiRuBfYxFj94"},
	{"password", "$argon2id$v=19$m=65536,t=2,p=1$ZGlmZnNhbHQ$vfMrBczELrFdWP0ZsfhWsRPaHppYdP3MVEMIVlqoFBw"},
	{"password", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"},
}

func TestPublishedHashesMatch(t *testing.T) {
	for _, v := range published {
		if !Matches(v.hash, v.password) {
			t.Errorf("%s does not match", v.hash)
		}
		if Matches(v.hash, v.password+" ") {
			t.Errorf("%s matches another password", v.hash)
		}
		if !Stale(v.hash) {
			t.Errorf("%s is not as one would be made now", v.hash)
		}
	}
}

func TestAHashMatchesItsOwnPasswordAlone(t *testing.T) {
	for _, p := range []string{"", " ", "two  spaces and a third ", "Žofie 中文 🦷 пароль", "with\x00a nothing", strings.Repeat("🦷", Most)} {
		hash, err := Hash(p)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(hash, "$argon2id$v=19$m=19456,t=2,p=1$") || strings.ContainsAny(hash, " =\n") && strings.Count(hash, "=") != 4 {
			t.Errorf("%q: %s", p, hash)
		}
		if !Matches(hash, p) || Stale(hash) {
			t.Errorf("%q: does not match %s, or is stale", p, hash)
		}
		for _, other := range []string{p + "x", strings.ToUpper(p) + "X", strings.TrimSpace(p) + "\x00"} {
			if Matches(hash, other) {
				t.Errorf("%q matches the hash of %q", other, p)
			}
		}
	}
}

// TestNothingIsCutOff changes the last character of the longest password (OWASP ASVS
// 4.0.3, V2.1.3).
func TestNothingIsCutOff(t *testing.T) {
	long := strings.Repeat("🦷", Most-1)
	hash, err := Hash(long + "a")
	if err != nil || Matches(hash, long+"b") || !Matches(hash, long+"a") {
		t.Errorf("%s, %v", hash, err)
	}
}

func TestTwoHashesOfOnePasswordDiffer(t *testing.T) {
	first, err := Hash("one and the same")
	second, err2 := Hash("one and the same")
	if err != nil || err2 != nil || first == second {
		t.Errorf("%s, %s, %v, %v", first, second, err, err2)
	}
}

func TestWhatIsNoHashMatchesNothing(t *testing.T) {
	const hash = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	for name, text := range map[string]string{
		"nothing":           "",
		"dollars":           "$$$$$",
		"another kind":      strings.Replace(hash, "argon2id", "argon2i", 1),
		"another version":   strings.Replace(hash, "v=19", "v=16", 1),
		"no passes":         strings.Replace(hash, "t=2", "t=0", 1),
		"no lanes":          strings.Replace(hash, "p=1", "p=0", 1),
		"no memory":         strings.Replace(hash, "m=65536", "m=0", 1),
		"memory of a city":  strings.Replace(hash, "m=65536", "m=4294967295", 1),
		"passes of an age":  strings.Replace(hash, "t=2", "t=4294967295", 1),
		"lanes past a byte": strings.Replace(hash, "p=1", "p=257", 1),
		"a sign":            strings.Replace(hash, "t=2", "t=+2", 1),
		"a leading nought":  strings.Replace(hash, "t=2", "t=02", 1),
		"a word after":      strings.Replace(hash, "p=1", "p=1,x=1", 1),
		"a part after":      hash + "$",
		"no salt":           strings.Replace(hash, "c29tZXNhbHQ", "", 1),
		"a short key":       hash[:len(hash)-37],
		"no key":            hash[:strings.LastIndex(hash, "$")+1],
		"loose bits":        hash[:len(hash)-1] + "d",
		"padding":           hash + "=",
		"a line break":      hash + "\n",
	} {
		if Matches(text, "password") {
			t.Errorf("%s: matches", name)
		}
		if _, ok := read(text); ok || !Stale(text) {
			t.Errorf("%s: is taken for a hash", name)
		}
	}
}

func TestStaleIsWhatWasMadeOtherwise(t *testing.T) {
	now := Decoy()
	if Stale(now) {
		t.Error("a hash of today's cost is stale")
	}
	for _, c := range []cost{{today.kibibytes - 1, today.passes, today.lanes}, {today.kibibytes, today.passes - 1, today.lanes}, {today.kibibytes, today.passes, today.lanes + 1}} {
		if h := (hashed{c, make([]byte, saltBytes), make([]byte, keyBytes)}).String(); !Stale(h) {
			t.Errorf("%s is not stale", h)
		}
	}
	if !Stale((hashed{today, make([]byte, saltBytes-1), make([]byte, keyBytes)}).String()) || !Stale((hashed{today, make([]byte, saltBytes), make([]byte, keyBytes-1)}).String()) {
		t.Error("a shorter salt or key is not stale")
	}
}

// TestDecoyIsComparedLikeAnyHash wants the decoy to be read as a hash of today's cost,
// so that to compare with it is the same work.
func TestDecoyIsComparedLikeAnyHash(t *testing.T) {
	h, ok := read(Decoy())
	if !ok || h.cost != today || len(h.salt) != saltBytes || len(h.key) != keyBytes {
		t.Errorf("%s", Decoy())
	}
	for _, p := range []string{"", "password", Decoy()} {
		if Matches(Decoy(), p) {
			t.Errorf("%q matches the decoy", p)
		}
	}
}

// TestAtMostTwoHashAtOnce takes both turns: a third waits until one is given back.
func TestAtMostTwoHashAtOnce(t *testing.T) {
	before := turns
	defer func() { turns = before }()
	synctest.Test(t, func(t *testing.T) {
		turns = make(chan struct{}, cap(before))
		turns <- struct{}{}
		turns <- struct{}{}
		done := make(chan bool)
		go func() { done <- Matches(Decoy(), "x") }()
		synctest.Wait() // until it is done or waits
		select {
		case <-done:
			t.Fatal("a third did not wait")
		default:
		}
		<-turns
		if <-done {
			t.Error("it matches")
		}
		if len(turns) != 1 {
			t.Errorf("%d turns are taken, not the other one alone", len(turns))
		}
	})
}
