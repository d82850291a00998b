package ics

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"
)

func TestUID(t *testing.T) {
	seen := map[string]bool{}
	for _, key := range []string{"", "k", "another key of the clinic's ledger", strings.Repeat("k", 200)} {
		for _, parts := range [][]string{{}, {""}, {"", ""}, {"ab", "c"}, {"a", "bc"}, {"abc"}, {"Nora Fenwick", "1971-03-02", "surgery"}} {
			uid := UID([]byte(key), parts...)
			if seen[uid] || uid != UID([]byte(key), parts...) {
				t.Errorf("UID(%q, %q) = %s is not its own", key, parts, uid)
			}
			seen[uid] = true
			if len(uid) != 36 || uid[14] != '8' || !strings.ContainsRune("89ab", rune(uid[19])) || strings.Count(uid, "-") != 4 {
				t.Errorf("UID(%q, %q) = %s is no UUID of version 8", key, parts, uid)
			}
			for _, part := range append(parts, key) {
				if len(part) > 3 && strings.Contains(strings.ToLower(uid), strings.ToLower(part[:4])) {
					t.Errorf("UID(%q, %q) = %s shows %q", key, parts, uid, part)
				}
			}
		}
	}
	if UID(nil, "a") != UID([]byte{}, "a") {
		t.Error("an empty key is no key")
	}
	// A UID that changes is another event to every reader: these stay.
	if got := UID(nil, "case 1", "surgery"); got != "fd8d2545-7e29-8772-b3f6-6e569eb9d2ef" {
		t.Errorf("UID without a key has changed: %s", got)
	}
	if got := UID([]byte("key"), "case 1", "surgery"); got != "b133c678-16d1-8900-a091-e448b916509a" {
		t.Errorf("UID with a key has changed: %s", got)
	}
}

// hmacOf is HMAC-SHA256 by its definition (RFC 2104 2), for keys up to a block.
func hmacOf(key, message string) []byte {
	var inner, outer [sha256.BlockSize]byte
	copy(inner[:], key)
	copy(outer[:], key)
	for i := range inner {
		inner[i] ^= 0x36
		outer[i] ^= 0x5c
	}
	first := sha256.Sum256(append(inner[:], message...))
	second := sha256.Sum256(append(outer[:], first[:]...))
	return second[:]
}

func TestKeyedUIDIsAnHMAC(t *testing.T) {
	// RFC 4231 4.3, test case 2.
	if got := hex.EncodeToString(hmacOf("Jefe", "what do ya want for nothing?")); got != "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843" {
		t.Fatalf("the test's own HMAC is wrong: %s", got)
	}
	message := ""
	for _, part := range []string{"graftclock calendar event", "case 1", "surgery"} {
		message += fmt.Sprintf("%s%c%s", strings.Repeat("\x00", 7), rune(len(part)), part)
	}
	sum := hmacOf("Jefe", message)
	sum[6], sum[8] = sum[6]&0x0f|0x80, sum[8]&0x3f|0x80
	if got, want := strings.ReplaceAll(UID([]byte("Jefe"), "case 1", "surgery"), "-", ""), hex.EncodeToString(sum[:16]); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
