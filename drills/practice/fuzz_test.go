package practice_test

import (
	"crypto/sha256"
	"testing"
	"time"

	"strop/drills/practice"
	"strop/drills/tools"
)

// A snapshot whose sum is right, whatever it holds, is read or refused, and
// what is read can be reported and planned from.
func FuzzSnapshot(f *testing.F) {
	records := newDesk(&testing.T{}, 3).answered(f, 300)
	h := &memory{records: records[:250]}
	load(f, h)
	whole := h.content[sha256.Size:]
	f.Add(whole)
	f.Add(whole[:len(whole)/2])
	now := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, body []byte) {
		sum := sha256.Sum256(body)
		fuzzed := &memory{name: h.name, content: append(sum[:], body...), upto: h.upto, failing: true}
		s, err := practice.Load(t.Context(), fuzzed, tools.All())
		if err != nil {
			t.Fatal(err)
		}
		s.Report(now)
		planned(s, now)
	})
}
