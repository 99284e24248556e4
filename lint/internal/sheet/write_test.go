package sheet_test

import (
	"archive/zip"
	"bytes"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/stance/lint/internal/sheet"
)

func written(t *testing.T) []byte {
	t.Helper()
	at := time.Date(2026, 11, 24, 21, 40, 0, 0, time.FixedZone("", -5*3600))
	var b bytes.Buffer
	err := sheet.Write(&b, []sheet.Sheet{
		{Name: "Findings", Columns: []sheet.Column{{"resident", 12}, {"time", 18}, {"text", 60}}, Rows: [][]any{
			{"R-1", at, "walked\n\"x1\" _x0041_ \x1b[2J"}, {"=1+1", nil, "+49"}, {7, 1.5, strings.Repeat("a", 40000)}, {"-", "", "@sum \xff"},
		}, Below: []string{"Check the resident."}},
		{Name: "Shift", Columns: []sheet.Column{{"resident", 12}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestWrite(t *testing.T) {
	data := written(t)
	got := read(t, data, "")
	for i, s := range got {
		if len(s) > 32767 {
			got[i] = s[:10] + s[len(s)-5:]
		}
	}
	want := []string{head, "2: R-1|2026-11-24 21:40:00|walked\n\"x1\" _x0041_  [2J", "3: '=1+1||'+49", "line 4: want a record of at most 1000 bytes", "5: '-||'@sum \uFFFD", "7: Check the resident.||"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := read(t, data, "shift"); !slices.Equal(got, []string{"resident"}) {
		t.Errorf("second sheet %q", got)
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range archive.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		part, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(f.Name, "xl/worksheets/") && bytes.Contains(part, []byte("<f")) {
			t.Errorf("%s has a formula", f.Name)
		}
		if year := time.Now().Format("2006-"); bytes.Contains(part, []byte(year)) || f.Modified.Year() > 1980 {
			t.Errorf("%s tells when it was written", f.Name)
		}
	}
}

// The same sheets give the same bytes, whatever the order in which maps are gone through.
func TestWriteSame(t *testing.T) {
	first := written(t)
	for range 10 {
		if !bytes.Equal(first, written(t)) {
			t.Fatal("written again, the bytes differ")
		}
	}
}

func TestGuard(t *testing.T) {
	for _, s := range []string{"=1", "+1", "-1", "@a", "\t=1", "\r=1", "\n=1", "＝1", "＋", "－", "＠"} {
		if got := sheet.Guard(s); got != "'"+s {
			t.Errorf("Guard(%q) = %q", s, got)
		}
	}
	for _, s := range []string{"", "a=1", "1-2", " x", "'=1"} {
		if got := sheet.Guard(s); got != s {
			t.Errorf("Guard(%q) = %q", s, got)
		}
	}
}
