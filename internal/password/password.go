// Package password keeps passwords as argon2id hashes and says whether a new one is
// good enough. Whose they are and where they are kept, it does not know.
package password

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// cost is what a hash takes to compute.
type cost struct {
	kibibytes uint32
	passes    uint32
	lanes     uint8
}

// today is the cost of new hashes: what the OWASP Password Storage Cheat Sheet asks of
// argon2id at least. One takes 19 MiB and some hundredths of a second.
var today = cost{19 * 1024, 2, 1}

// The length of what is random and of what is derived, in bytes (RFC 9106 section 4).
const (
	saltBytes = 16
	keyBytes  = 32
)

// turns lets two hashings go on at once, so that many who sign in together cannot fill
// the memory.
var turns = make(chan struct{}, 2)

// derive computes what a password comes to.
func derive(password string, salt []byte, c cost, length int) []byte {
	turns <- struct{}{}
	defer func() { <-turns }()
	return argon2.IDKey([]byte(password), salt, c.passes, c.kibibytes, c.lanes, uint32(length))
}

// hashed is a kept hash, taken apart.
type hashed struct {
	cost
	salt, key []byte
}

// String writes the hash as a PHC string, "$argon2id$v=19$m=..,t=..,p=..$salt$key".
func (h hashed) String() string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, h.kibibytes, h.passes, h.lanes, text.EncodeToString(h.salt), text.EncodeToString(h.key))
}

// text is how a PHC string writes bytes: base64 without padding, and no two texts for
// the same bytes.
var text = base64.RawStdEncoding.Strict()

// Bounds of a hash that is read. What lies outside was not written by this program and
// would take memory or time without end.
const (
	mostKibibytes = 256 * 1024
	mostPasses    = 32
	leastBytes    = 8 // of salt and key (RFC 9106 section 3.1)
	mostBytes     = 64
)

// read takes a PHC string apart; false for any other text.
func read(hash string) (h hashed, ok bool) {
	const parts = 6 // the first is empty
	p := strings.Split(hash, "$")
	if len(p) != parts {
		return h, false
	}
	_, err := fmt.Sscanf(p[3], "m=%d,t=%d,p=%d", &h.kibibytes, &h.passes, &h.lanes)
	salt, saltErr := text.DecodeString(p[4])
	key, keyErr := text.DecodeString(p[5])
	if err != nil || saltErr != nil || keyErr != nil {
		return h, false
	}
	h.salt, h.key = salt, key
	sound := h.kibibytes >= 1 && h.kibibytes <= mostKibibytes && h.passes >= 1 && h.passes <= mostPasses && h.lanes >= 1
	return h, sound && within(salt) && within(key) && h.String() == hash
}

func within(b []byte) bool { return len(b) >= leastBytes && len(b) <= mostBytes }

// Hash returns the hash of a password under a salt of its own. It waits while two
// others are computed.
func Hash(password string) (string, error) {
	salt := make([]byte, saltBytes)
	if _, err := rand.Read(salt); err != nil {
		return "", fmt.Errorf("hash a password: %w", err)
	}
	return hashed{today, salt, derive(password, salt, today, keyBytes)}.String(), nil
}

// Matches reports whether a hash is of the password. How long it takes tells nothing of
// either. A text that is no hash matches nothing.
func Matches(hash, password string) bool {
	h, ok := read(hash)
	if !ok {
		return false
	}
	return subtle.ConstantTimeCompare(h.key, derive(password, h.salt, h.cost, len(h.key))) == 1
}

// Stale reports whether a hash was not made as one would be made now, so that the
// password should be hashed anew when it is next known.
func Stale(hash string) bool {
	h, ok := read(hash)
	return !ok || h.cost != today || len(h.salt) != saltBytes || len(h.key) != keyBytes
}

// Decoy returns a hash that matches no password anybody knows. To compare with it takes
// as long as with a real one.
func Decoy() string {
	return hashed{today, make([]byte, saltBytes), make([]byte, keyBytes)}.String()
}
