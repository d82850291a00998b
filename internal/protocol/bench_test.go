package protocol_test

import (
	"testing"

	"graftclock/internal/protocol"
)

func BenchmarkPlan(b *testing.B) {
	c, rules := good(), protocol.Default()
	for b.Loop() {
		if _, err := protocol.Plan(c, rules, c.Surgery.Day); err != nil {
			b.Fatal(err)
		}
	}
}
