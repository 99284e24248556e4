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
	at      [fieldCount]int // column of each field; -1 for none
}

func newTable(text *decode.Text, columns map[string]string) (source, error) {
	t, err := decode.NewTable(text, MaxRecord, func(header []string) int {
		n := 0
		for _, f := range fieldNames() {
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
	var at [fieldCount]int
	for place := range fieldCount {
		f := place.String()
		i := slices.IndexFunc(t.Header(), named(f, columns))
		own, stated := columns[f]
		at[place] = i
		switch {
		case i >= 0 && slices.ContainsFunc(t.Header()[i+1:], named(f, columns)):
			return nil, &decode.Fault{Line: 1, Want: fmt.Sprintf("one column for %q, but the header has two", f)}
		case i >= 0:
		case stated: // what the header has instead is not shown: without a header it would be a note
			return nil, &decode.Fault{Line: 1, Want: fmt.Sprintf("a header with the column %q for %q", own, f)}
		case place < required:
			return nil, &decode.Fault{Line: 1, Want: fmt.Sprintf(
				"a header with a column %q (of %s); where it has another name, give that with --column %s=NAME",
				f, strings.Join(fieldNames(), ", "), f)}
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
	var given fields
	for f, i := range t.at {
		if i >= 0 {
			given[f] = rec.Fields[i]
		}
	}
	return record{line: rec.Line, fields: given}, nil
}
