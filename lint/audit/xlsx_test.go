package audit_test

import (
	"bytes"
	"io"
	"strconv"
	"testing"
	"time"

	"example.com/stance/lint/audit"
	"example.com/stance/lint/internal/sheet"
)

// The workbook has the figures of the report, a sheet for each table, and is the same bytes each time.
func TestXLSX(t *testing.T) {
	h := demo(t)
	r := h.tally(h.judged, h.opt).Report(audit.Week, time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC))
	var b, again bytes.Buffer
	if err := audit.XLSX(&b, r); err != nil {
		t.Fatal(err)
	}
	if err := audit.XLSX(&again, r); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("written again, the bytes differ")
	}
	rows := func(name string) (out [][]string) {
		s, err := sheet.Open(bytes.NewReader(b.Bytes()), sheet.Options{Sheet: name, Limit: 1 << 20, Wanted: func([]string) int { return 1 }})
		if err != nil {
			t.Fatal(err)
		}
		for {
			rec, err := s.Next()
			if err == io.EOF {
				return out
			}
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, rec.Fields)
		}
	}
	events := 0
	for _, table := range r.Tables {
		name := "By " + table.By
		if table.By == audit.ByAll {
			name = "All"
		}
		got := rows(name)
		if len(got) != len(table.Rows) {
			t.Fatalf("sheet %s has %d rows, want %d", name, len(got), len(table.Rows))
		}
		for i, row := range table.Rows {
			if got[i][0] != row.Value || got[i][1] != row.Scope || got[i][7] != strconv.Itoa(row.Findings) {
				t.Errorf("sheet %s, row %d: %q, want %+v", name, i, got[i], row)
			}
			if rate, err := strconv.ParseFloat(got[i][8], 64); (err == nil) != (row.Rate != nil) || row.Rate != nil && (rate-100*row.Rate.Value > 1e-9 || 100*row.Rate.Value-rate > 1e-9) {
				t.Errorf("sheet %s, row %d: rate %q, want %+v", name, i, got[i][8], row.Rate)
			}
		}
		events += len(table.Events)
	}
	if got := rows("Events"); len(got) != events+1 || got[events][0] != r.Caution {
		t.Errorf("%d rows of events, want %d and the caution", len(got), events)
	}
}
