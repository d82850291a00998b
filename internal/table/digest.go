package table

import (
	"crypto/sha256"
	"encoding/hex"
)

// Digest names a text: the first digits of its SHA-256. It tells one state of a file
// from another.
func Digest(data []byte) string {
	const bytes = 16
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:bytes])
}
