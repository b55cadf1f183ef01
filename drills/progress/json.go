package progress

import (
	"encoding/json"
	"io"
)

// WriteJSON writes p as JSON. The names of the fields are those in the tags
// of Progress and what it holds, and do not change; intervals are at 95 %.
// Shares are counts, times seconds, lastAt UTC, errors in the unit beside
// them; where too few answers tell no error, "error" is null and "missing"
// says how many more are needed.
func WriteJSON(w io.Writer, p Progress) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(p)
}
