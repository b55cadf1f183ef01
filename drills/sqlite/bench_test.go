package sqlite_test

import (
	"path/filepath"
	"testing"

	"strop/drills"
	"strop/drills/sqlite"
)

const many = 100_000

func manyRecords() []drills.Record {
	records := make([]drills.Record, many)
	for i := range records {
		records[i] = record(i)
		if i%2 == 1 {
			records[i].Trial.Tool = "eq-gain"
		}
	}
	return records
}

func BenchmarkAppend(b *testing.B) {
	db := open(b, filepath.Join(b.TempDir(), "history.db"))
	r := record(1)
	for b.Loop() {
		if err := db.Append(b.Context(), r); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkRecords reads 100 000 records.
func BenchmarkRecords(b *testing.B) {
	db := open(b, filepath.Join(b.TempDir(), "history.db"))
	db.AppendAtOnce(b, manyRecords())
	for name, tool := range map[string]string{"all": "", "half": "eq-gain"} {
		b.Run(name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				records, err := db.Records(b.Context(), tool)
				if err != nil {
					b.Fatal(err)
				}
				n = len(records)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/record")
		})
	}
}

// BenchmarkOpen opens a history of 100 000 records, with its check.
func BenchmarkOpen(b *testing.B) {
	path := filepath.Join(b.TempDir(), "history.db")
	open(b, path).AppendAtOnce(b, manyRecords())
	for b.Loop() {
		db, err := sqlite.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		db.Close()
	}
}
