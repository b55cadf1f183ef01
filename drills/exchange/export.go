// Package exchange writes records for other programs and for other machines,
// and reads what it wrote: JSON and CSV, with the schema in README.md.
package exchange

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"io"
	"iter"

	"strop/drills"
)

// ExportCSV writes records as CSV (RFC 4180), one a line under a line of
// column names. Numbers are exact. It stops at the first error of records.
func ExportCSV(w io.Writer, records iter.Seq2[drills.Record, error]) error {
	out := csv.NewWriter(w)
	if err := out.Write(columns); err != nil {
		return err
	}
	for r, err := range records {
		if err != nil {
			out.Flush()
			return err
		}
		if err := out.Write(line(&r)); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// ExportJSON writes records as a JSON array, one record a line, each as
// drills.Record declares it. It stops at the first error of records.
func ExportJSON(w io.Writer, records iter.Seq2[drills.Record, error]) error {
	out := bufio.NewWriter(w)
	out.WriteString("[")
	separator := "\n"
	for r, err := range records {
		if err != nil {
			out.Flush()
			return err
		}
		line, err := json.Marshal(r)
		if err != nil {
			return err
		}
		out.WriteString(separator)
		out.Write(line)
		separator = ",\n"
	}
	out.WriteString("\n]\n")
	return out.Flush()
}
