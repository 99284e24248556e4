package note

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/sheet"
)

// table reads CSV and its kin, and the sheets of workbooks: a header with the names of the fields, or those
// that the caller gives for them, in any order and among others.
type table struct {
	records tabled
	at      [fieldCount]int // column of each field; -1 for none
	homeAt  int             // column of the note's home; -1 where nobody asks
}

// tabled is a header and the records below it.
type tabled interface {
	Header() []string
	Next() (decode.Record, error)
}

func newTable(text *decode.Text, opt Options) (source, error) {
	columns := opt.Columns
	t, err := decode.NewTable(text, MaxRecord, wanted(columns))
	if err == io.EOF {
		return none{}, nil
	}
	if err != nil {
		return nil, err
	}
	at, err := columnsOf(t.Header(), columns)
	if err != nil {
		return nil, &decode.Fault{Line: 1, Want: err.Error()}
	}
	homeAt, err := homeColumn(t.Header(), opt.Home)
	if err != nil {
		return nil, &decode.Fault{Line: 1, Want: err.Error()}
	}
	opt.Survey.columns(t.Header(), columns)
	return &table{t, at, homeAt}, nil
}

// A workbook is the sheet of one that has notes.
type workbook struct {
	name    string // of the sheet
	records source
}

// openBook reads a workbook up to the header of its sheet.
func openBook(r io.Reader, opt Options) (workbook, error) {
	t, err := sheet.Open(r, sheet.Options{Sheet: opt.Sheet, Limit: MaxRecord, Wanted: wanted(opt.Columns)})
	if err == io.EOF {
		return workbook{records: none{}}, nil
	}
	if err != nil {
		return workbook{}, err
	}
	at, err := columnsOf(t.Header(), opt.Columns)
	if err != nil {
		return workbook{}, &decode.Fault{Want: fmt.Sprintf("in sheet '%s' %s", t.Name(), err)}
	}
	homeAt, err := homeColumn(t.Header(), opt.Home)
	if err != nil {
		return workbook{}, &decode.Fault{Want: fmt.Sprintf("in sheet '%s' %s", t.Name(), err)}
	}
	opt.Survey.columns(t.Header(), opt.Columns)
	t.TimesIn(at[timeField])
	return workbook{t.Name(), &table{t, at, homeAt}}, nil
}

// wanted counts the fields that a header has columns for.
func wanted(columns map[string]string) func(header []string) int {
	return func(header []string) int {
		n := 0
		for _, f := range fieldNames() {
			if slices.ContainsFunc(header, named(f, columns)) {
				n++
			}
		}
		return n
	}
}

// columnsOf are the columns of the fields; -1 for none. The error says what was wanted of the header.
func columnsOf(header []string, columns map[string]string) (at [fieldCount]int, err error) {
	for place := range fieldCount {
		f := place.String()
		i := slices.IndexFunc(header, named(f, columns))
		own, stated := columns[f]
		at[place] = i
		switch {
		case i >= 0 && slices.ContainsFunc(header[i+1:], named(f, columns)):
			return at, fmt.Errorf("one column for %q, but the header has two", f)
		case i >= 0:
		case stated: // what the header has instead is not shown: without a header it would be a note
			return at, fmt.Errorf("a header with the column %q for %q", own, f)
		case place < required:
			return at, fmt.Errorf("a header with a column %q (of %s); where it has another name, give that with --column %s=NAME",
				f, strings.Join(fieldNames(), ", "), f)
		}
	}
	return at, nil
}

// homeColumn is the column of the note's home; -1 where nobody asks.
func homeColumn(header []string, home string) (int, error) {
	if home == "" {
		return -1, nil
	}
	i := slices.IndexFunc(header, named(home, nil))
	if i < 0 {
		return -1, fmt.Errorf("a header with the column %q for the home", home)
	}
	return i, nil
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
	out := record{line: rec.Line, fields: given}
	if t.homeAt >= 0 {
		out.home = rec.Fields[t.homeAt]
	}
	return out, nil
}
