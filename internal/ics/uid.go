package ics

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
)

// uidDomain keeps these names apart from every other use of the same hash.
const uidDomain = "graftclock calendar event"

// UID returns a stable name for the event that the parts name, in their order:
// a UUID of version 8 made of a SHA-256 (RFC 9562 5.8), without the host or
// person that RFC 7986 5.3 warns of. No part can be read in it, but whoever
// guesses all parts can confirm the guess: include one that nobody can guess.
func UID(parts ...string) string {
	h := sha256.New()
	for _, part := range append([]string{uidDomain}, parts...) {
		// The length comes first so that ("ab", "c") and ("a", "bc") differ.
		var length [8]byte
		binary.BigEndian.PutUint64(length[:], uint64(len(part)))
		h.Write(length[:])
		h.Write([]byte(part))
	}
	sum := h.Sum(nil)
	sum[6] = sum[6]&0x0f | 0x80 // version 8, RFC 9562 4.2
	sum[8] = sum[8]&0x3f | 0x80 // variant 10, RFC 9562 4.1
	text := hex.EncodeToString(sum[:16])
	return text[:8] + "-" + text[8:12] + "-" + text[12:16] + "-" + text[16:20] + "-" + text[20:]
}
