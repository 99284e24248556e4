package note

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.com/stance/lint/internal/decode"
)

// table reads CSV and its kin: a header with the names of the fields, or those that the caller
// gives for them, in any order and among others.
type table struct {
	records *decode.Table
	at      map[string]int // field → column
}

func newTable(text *decode.Text, columns map[string]string) (source, error) {
	t, err := decode.NewTable(text, MaxRecord, func(header []string) int {
		n := 0
		for _, f := range fields() {
			if slices.ContainsFunc(header, named(f, columns)) {
				n++
			}
		}
		return n
	})
	if err == io.EOF {
		return none{}, nil
	}
	if err != nil {
		return nil, err
	}
	at := make(map[string]int)
	for _, f := range fields() {
		i := slices.IndexFunc(t.Header(), named(f, columns))
		own, stated := columns[f]
		switch {
		case i >= 0 && slices.ContainsFunc(t.Header()[i+1:], named(f, columns)):
			return nil, &decode.Fault{Line: 1, Want: fmt.Sprintf("one column for %q, but the header has two", f)}
		case i >= 0:
			at[f] = i
		case stated: // what the header has instead is not shown: without a header it would be a note
			return nil, &decode.Fault{Line: 1, Want: fmt.Sprintf("a header with the column %q for %q", own, f)}
		case slices.Contains(required(), f):
			return nil, &decode.Fault{Line: 1, Want: fmt.Sprintf(
				"a header with a column %q (of %s); where it has another name, give that with --column %s=NAME",
				f, strings.Join(fields(), ", "), f)}
		}
	}
	return &table{t, at}, nil
}

// named tells the header of a field's column.
func named(field string, columns map[string]string) func(string) bool {
	name := field
	if own, ok := columns[field]; ok {
		name = own
	}
	return func(head string) bool { return strings.EqualFold(strings.TrimSpace(head), strings.TrimSpace(name)) }
}

func (t *table) next() (record, error) {
	rec, err := t.records.Next()
	if err != nil {
		return record{}, err
	}
	given := make(map[string]string, len(t.at))
	for f, i := range t.at {
		given[f] = rec.Fields[i]
	}
	return record{rec.Line, given}, nil
}
