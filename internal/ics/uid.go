package ics

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
)

// uidDomain keeps these names apart from every other use of the same hash.
const uidDomain = "graftclock calendar event"

// UID returns a stable name for the event that the parts name, in their order: a
// UUID of version 8 (RFC 9562 5.8) without the host or person that RFC 7986 5.3
// warns of. With a key it is an HMAC-SHA256 (RFC 2104), and who lacks the key can
// neither read the parts in it nor confirm a guess. Without one, it is a SHA-256:
// whoever guesses all parts can confirm the guess.
func UID(key []byte, parts ...string) string {
	var h hash.Hash = sha256.New()
	if len(key) > 0 {
		h = hmac.New(sha256.New, key)
	}
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
