package password

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// The length of a password in characters (OWASP ASVS 4.0.3, V2.1.1 and V2.1.2). No
// kinds of characters are asked for (V2.1.9), and nothing is cut off (V2.1.3).
const (
	Least = 12
	Most  = 128
)

// Faults says why a password is not good enough for a person; empty if it is. It never
// repeats the password.
func Faults(password, name string) string {
	switch n := length(password); {
	case n < Least:
		return fmt.Sprintf("the password has %d characters; it needs at least %d (several spaces in a row count as one)", n, Least)
	case len([]rune(password)) > Most:
		return fmt.Sprintf("the password has more than %d characters", Most)
	case letters(name) != "" && letters(password) == letters(name):
		return "the password is the person's own name"
	case common(password):
		return "the password is one of those that are tried first; a few words that do not belong together are better"
	}
	return ""
}

// length counts characters, several spaces in a row as one (V2.1.1).
func length(password string) int {
	n, space := 0, false
	for _, r := range password {
		if now := unicode.IsSpace(r); !now || !space {
			n++
		}
		space = unicode.IsSpace(r)
	}
	return n
}

// letters is a text in small letters alone.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, s)
}

// firstTried are pieces of the passwords that are tried first (V2.1.7). The commonest
// ones of twelve characters and more are made of little else.
var firstTried = []string{
	"password", "passwort", "passw0rd", "motdepasse", "contrasena", "parola", "qwerty", "qwertz", "azerty", "qwertyuiop", "qwertzuiop", "asdfghjkl", "asdf", "zxcvbnm", "yxcvbnm",
	"1q2w3e4r5t6y", "1q2w3e4r5t", "1q2w3e4r", "1qaz2wsx3edc", "1qaz2wsx", "qazwsxedc", "zaq12wsx", "q1w2e3r4", "letmein", "iloveyou", "welcome", "sunshine", "princess", "football", "baseball",
	"monkey", "dragon", "master", "shadow", "superman", "batman", "trustno", "changeme", "secret", "default", "login", "admin", "administrator", "guest", "test", "user", "hello",
	"clinic", "dental", "dentist", "surgeon", "graftclock",
}

// run is how many equal or neighbouring characters make a piece, such as 1234 or aaa;
// year is how many digits of any kind often end a password.
const (
	run  = 3
	year = 4
)

// common reports whether a password is made of nothing but pieces that are tried first,
// and up to four digits after them.
func common(password string) bool {
	folded := []rune(strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, password))
	made := make([]bool, len(folded)+1) // by pieces, up to here
	made[0] = true
	for n := range folded {
		if !made[n] {
			continue
		}
		for end := range pieces(folded[n:]) {
			made[n+end] = true
		}
	}
	bare := len(folded)
	for bare > 0 && len(folded)-bare < year && unicode.IsDigit(folded[bare-1]) && !made[bare] {
		bare--
	}
	return made[bare] && bare > 0
}

// pieces yields where a piece that begins a text may end.
func pieces(text []rune) func(yield func(end int) bool) {
	return func(yield func(int) bool) {
		for _, piece := range firstTried {
			if p := []rune(piece); len(p) <= len(text) && slices.Equal(p, text[:len(p)]) && !yield(len(p)) {
				return
			}
		}
		for step := rune(-1); step <= 1; step++ {
			for end := 1; end < len(text) && text[end] == text[end-1]+step; end++ {
				if end+1 >= run && !yield(end+1) {
					return
				}
			}
		}
	}
}
