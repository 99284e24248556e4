package sheet_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/decode/decodetest"
	"example.com/stance/lint/internal/sheet"
)

// parts are those of a workbook, by name. Those of book stand where others are not given.
type parts map[string]string

const (
	xmlBook = `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">%s<sheets>` +
		`<sheet name="Chart 1" sheetId="1" r:id="r1"/><sheet name="Old" sheetId="2" state="hidden" r:id="r2"/><sheet name="Notes" sheetId="3" r:id="r3"/><sheet name="2" sheetId="4" r:id="r2"/></sheets></workbook>`
	xmlRels = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
		`<Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/chartsheet" Target="chartsheets/sheet1.xml"/>` +
		`<Relationship Id="r2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="/xl/worksheets/old.xml"/>` +
		`<Relationship Id="r3" Type="http://purl.oclc.org/ooxml/officeDocument/relationships/worksheet" Target="worksheets/sheet1.xml"/>` +
		`<Relationship Id="r4" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/>` +
		`<Relationship Id="r5" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>`
	xmlStrings = `<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>resident</t></si><si><t>time</t></si><si><t>text</t></si>` +
		`<si><r><t xml:space="preserve">Walked </t></r><r><rPr><b/></rPr><t>x1</t></r><rPh sb="0" eb="1"><t>WALK</t></rPh></si><si><t>a_x000D_&#10;b_x005F_x0041__x0007_</t></si></sst>`
	// 1 and 2: date and time, built in and spelt out; 3: a date alone; 4: a time of day; 5: leading zeros; 6: text; 7: month and year; 8: hours that pass 24; 9: no such format
	xmlStyles = `<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><numFmts count="4"><numFmt numFmtId="164" formatCode="[$-409]d\-mmm\-yyyy\ hh:mm;@"/>` +
		`<numFmt numFmtId="165" formatCode="0000"/><numFmt numFmtId="166" formatCode="mm/yyyy"/><numFmt numFmtId="167" formatCode="[h]:mm"/></numFmts>` +
		`<cellXfs count="10"><xf numFmtId="0"/><xf numFmtId="22"/><xf numFmtId="164"/><xf numFmtId="14"/><xf numFmtId="20"/><xf numFmtId="165"/><xf numFmtId="49"/><xf numFmtId="166"/><xf numFmtId="167"/><xf numFmtId="999"/></cellXfs></styleSheet>`
	header = `<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c><c r="C1" t="s"><v>2</v></c></row>`
)

func rowsOf(rows string) string {
	return `<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>` + rows + `</sheetData></worksheet>`
}

func book(more parts) parts {
	all := parts{
		"xl/workbook.xml": fmt.Sprintf(xmlBook, ""), "xl/_rels/workbook.xml.rels": xmlRels, "xl/sharedStrings.xml": xmlStrings,
		"xl/styles.xml": xmlStyles, "xl/worksheets/sheet1.xml": rowsOf(header), "xl/worksheets/old.xml": rowsOf(header),
	}
	for name, data := range more {
		all[name] = data
	}
	return all
}

func pack(t testing.TB, all parts) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	var names []string
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		f, err := w.Create(name)
		if err == nil {
			_, err = io.WriteString(f, all[name])
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func options(which string) sheet.Options {
	return sheet.Options{Sheet: which, Limit: 1000, Wanted: func(header []string) int {
		n := 0
		for _, h := range header {
			if slices.Contains([]string{"resident", "time", "text"}, h) {
				n++
			}
		}
		return n
	}}
}

// read is what a workbook gives: its header and records, with "row: " before each, or the errors.
func read(t *testing.T, data []byte, which string) []string {
	t.Helper()
	table, err := sheet.Open(bytes.NewReader(data), options(which))
	if err != nil {
		return []string{err.Error()}
	}
	table.TimesIn(1)
	return append([]string{strings.Join(table.Header(), "|")}, decodetest.All(t, 10000, table.Next, func(r decode.Record) []string {
		return []string{strconv.Itoa(r.Line) + ": " + strings.Join(r.Fields, "|")}
	})...)
}

const head = "resident|time|text"

func TestCells(t *testing.T) {
	tests := []struct{ name, cell, want string }{ // the cell in the second column, that of times
		{"shared text of runs", `<c r="B2" t="s"><v>3</v></c>`, "Walked x1"},
		{"escapes", `<c r="B2" t="s"><v>4</v></c>`, "a\r\nb_x0041__x0007_"},
		{"text in the cell", `<c r="B2" t="inlineStr"><is><r><t>one </t></r><r><t>two</t></r></is></c>`, "one two"},
		{"a formula's text", `<c r="B2" t="str"><f>A1&amp;"x"</f><v>sum</v></c>`, "sum"},
		{"a formula without a value", `<c r="B2"><f>NOW()</f></c>`, ""},
		{"an error", `<c r="B2" t="e"><v>#N/A</v></c>`, ""},
		{"true", `<c r="B2" t="b"><v>1</v></c>`, "TRUE"},
		{"ISO 8601", `<c r="B2" t="d"><v>2026-11-24T21:40:00</v></c>`, "2026-11-24T21:40:00"},
		{"date and time", `<c r="B2" s="1"><v>46350.902777777781</v></c>`, "2026-11-24 21:40:00"},
		{"date and time, spelt out", `<c r="B2" s="2"><v>46350.902777777781</v></c>`, "2026-11-24 21:40:00"},
		{"midnight", `<c r="B2" s="2"><v>46350</v></c>`, "2026-11-24 00:00:00"},
		{"seconds and less", `<c r="B2" s="1"><v>46350.902789351851</v></c>`, "2026-11-24 21:40:01"},
		{"a date alone", `<c r="B2" s="3"><v>46350</v></c>`, "2026-11-24"},
		{"a date whose time the format hides", `<c r="B2" s="3"><v>46350.902777777781</v></c>`, "2026-11-24 21:40:00"},
		{"month and year", `<c r="B2" s="7"><v>46350</v></c>`, "2026-11-24"},
		{"a time of day", `<c r="B2" s="4"><v>0.90277777777777779</v></c>`, "21:40:00"},
		{"a serial date without a format", `<c r="B2"><v>46350.902777777781</v></c>`, "2026-11-24 21:40:00"},
		{"no serial date", `<c r="B2"><v>20261124</v></c>`, "20261124"},
		{"a year", `<c r="B2"><v>2026</v></c>`, "2026"},
		{"beyond the calendar", `<c r="B2" s="1"><v>2958466</v></c>`, "2958466"},
		{"leading zeros", `<c r="B2" s="5"><v>412</v></c>`, "0412"},
		{"hours that pass 24", `<c r="B2" s="8"><v>1.5</v></c>`, "36:00"},
		{"a number as text", `<c r="B2" s="6"><v>7</v></c>`, "7"},
		{"a number with an exponent", `<c r="B2"><v>1.2E3</v></c>`, "1200"},
		{"a sum", `<c r="B2"><v>0.30000000000000004</v></c>`, "0.3"},
		{"a format that is not there", `<c r="B2" s="9"><v>3</v></c>`, "3"},
		{"a style that is not there", `<c r="B2" s="99"><v>3</v></c>`, "3"},
		{"no number", `<c r="B2"><v>NaN</v></c>`, "NaN"},
		{"no names of cells", `<c t="str"><v>bare</v></c>`, "bare"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			first := `<c r="A2" t="str"><v>R-1</v></c>`
			if !strings.Contains(tt.cell, `r="B2"`) {
				first = strings.Replace(first, ` r="A2"`, "", 1)
			}
			got := read(t, pack(t, book(parts{"xl/worksheets/sheet1.xml": rowsOf(header + `<row r="2">` + first + tt.cell + `</row>`)})), "")
			if want := []string{head, "2: R-1|" + tt.want + "|"}; !slices.Equal(got, want) {
				t.Errorf("got %q, want %q", got, want)
			}
		})
	}
}

// Every minute of a day of either calendar comes out as it went in.
func TestMinutes(t *testing.T) {
	for _, from1904 := range []bool{false, true} {
		date := ""
		days := 46350
		if from1904 {
			date, days = `<workbookPr date1904="1"/>`, 46350-1462
		}
		var rows strings.Builder
		want := []string{head}
		for m := range 24 * 60 {
			serial := strconv.FormatFloat(float64(days)+float64(m)/(24*60), 'g', -1, 64)
			fmt.Fprintf(&rows, `<row><c s="0" t="str"><v>R</v></c><c s="2"><v>%s</v></c></row>`, serial)
			want = append(want, fmt.Sprintf("%d: R|2026-11-24 %02d:%02d:00|", m+2, m/60, m%60))
		}
		got := read(t, pack(t, book(parts{"xl/workbook.xml": fmt.Sprintf(xmlBook, date), "xl/worksheets/sheet1.xml": rowsOf(header + rows.String())})), "")
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("from 1904 %v (-want +got):\n%s", from1904, diff)
		}
	}
}

func TestSheets(t *testing.T) {
	text := func(rows string) string { return rowsOf(rows) }
	cell := func(at, s string) string { return fmt.Sprintf(`<c r="%s" t="str"><v>%s</v></c>`, at, s) }
	old := text(`<row r="1">` + cell("A1", "resident") + `</row><row r="2">` + cell("A2", "old") + `</row>`)
	titled := text(`<row r="2">` + cell("B2", "Progress notes") + `</row><row r="4">` + cell("A4", "printed by") + cell("B4", "x") + `</row>` +
		`<row r="6">` + cell("B6", "time") + cell("C6", "resident") + cell("D6", " ") + `</row><row r="9">` + cell("C9", "R-1") + cell("F9", "aside") + `</row><row r="10"><c r="C10"/></row>`)
	all := book(parts{"xl/worksheets/old.xml": old, "xl/worksheets/sheet1.xml": titled})
	tests := []struct {
		which string
		want  []string
	}{
		{"", []string{"|time|resident", "9: ||R-1"}},
		{"notes", []string{"|time|resident", "9: ||R-1"}},
		{"3", []string{"|time|resident", "9: ||R-1"}},
		{"Old", []string{"resident", "2: old"}},
		{"2", []string{"resident", "2: old"}},
		{"1", []string{"line 0: want rows of cells in sheet 'Chart 1', but it is of another kind or is missing"}},
		{"5", []string{`line 0: want a sheet "5"; the workbook has "Chart 1", "Old", "Notes", "2"`}},
	}
	for _, tt := range tests {
		if got := read(t, pack(t, all), tt.which); !slices.Equal(got, tt.want) {
			t.Errorf("sheet %q: got %q, want %q", tt.which, got, tt.want)
		}
	}
}

func TestBadRows(t *testing.T) {
	row := func(n int, cells string) string { return fmt.Sprintf(`<row r="%d">%s</row>`, n, cells) }
	good := func(n int) string { return row(n, fmt.Sprintf(`<c r="A%d" t="str"><v>R</v></c>`, n)) }
	tests := []struct {
		name, rows string
		want       []string
	}{
		{"a text that is not there", row(2, `<c r="A2" t="s"><v>99</v></c>`) + good(3), []string{"line 2: want cells whose texts are in the workbook", "3: R||"}},
		{"cells in disorder", row(2, `<c r="B2"><v>1</v></c><c r="A2"><v>1</v></c>`) + good(3), []string{"line 2: want cells from left to right", "3: R||"}},
		{"no name of a cell", row(2, `<c r="?"><v>1</v></c>`) + good(3), []string{"line 2: want cells with a name such as B7 and a style", "3: R||"}},
		{"no style", row(2, `<c r="A2" s="-1"><v>1</v></c>`) + good(3), []string{"line 2: want cells with a name such as B7 and a style", "3: R||"}},
		{"long", row(2, `<c r="A2" t="str"><v>`+strings.Repeat("a", 1001)+`</v></c>`) + good(3), []string{"line 2: want a record of at most 1000 bytes", "3: R||"}},
		{"wide", row(2, `<c r="AMK2" t="str"><v>a</v></c>`) + good(3), []string{"line 2: want a row of at most 1024 cells", "3: R||"}},
		{"wide but empty", row(2, `<c r="A2"><v>1</v></c><c r="XFD2" s="1"/>`), []string{"2: 1||"}},
		{"rows in disorder", good(3) + good(2) + good(4), []string{"3: R||", "line 4: want rows in order, each with a number of its own; what follows is not read"}},
		{"a row beyond all", good(1048577), []string{"line 2: want rows in order, each with a number of its own; what follows is not read"}},
		{"XML that breaks off", good(2) + `<row r="3"><c r="A3"><v>1</v>`, []string{"2: R||", "line 3: want XML of a sheet to its end; what follows cannot be read"}},
		{"no XML", good(2) + `<row r="3"></c></row>` + good(4), []string{"2: R||", "line 3: want XML of a sheet to its end; what follows cannot be read"}},
		{"entities", row(2, `<c r="A2" t="str"><v>&lol;</v></c>`), []string{"line 2: want XML of a sheet to its end; what follows cannot be read"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := read(t, pack(t, book(parts{"xl/worksheets/sheet1.xml": rowsOf(header + tt.rows)})), "")
			if want := append([]string{head}, tt.want...); !slices.Equal(got, want) {
				t.Errorf("got %q, want %q", got, want)
			}
		})
	}
}

func TestBadWorkbooks(t *testing.T) {
	whole := pack(t, book(nil))
	flipped := bytes.Clone(pack(t, book(parts{"xl/worksheets/sheet1.xml": rowsOf(header + strings.Repeat(`<row><c t="str"><v>R</v></c></row>`, 10))})))
	// The checksum of each part, in the directory at the end of the archive.
	for i := 0; ; {
		at := bytes.Index(flipped[i:], []byte("PK\x01\x02"))
		if at < 0 {
			break
		}
		i += at + 4
		if bytes.HasPrefix(flipped[i+42:], []byte("xl/worksheets/sheet1.xml")) {
			binary.LittleEndian.PutUint32(flipped[i+12:], 1)
		}
	}
	none := parts{"xl/workbook.xml": `<workbook><sheets/></workbook>`, "xl/_rels/workbook.xml.rels": `<Relationships/>`}
	tests := []struct {
		name string
		data []byte
		want string
	}{
		{"no archive", []byte("PK\x03\x04 and no more"), "line 0: want a workbook that is whole, but its archive cannot be read"},
		{"half of one", whole[:len(whole)/2], "line 0: want a workbook that is whole, but its archive cannot be read"},
		{"another archive", pack(t, parts{"a.txt": "a"}), "line 0: want an XLSX workbook, but this is another archive"},
		{"OpenDocument", pack(t, parts{"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<a/>"}), "line 0: want an XLSX workbook, but this is an OpenDocument file: save the sheet as XLSX or CSV"},
		{"a binary workbook", pack(t, parts{"xl/workbook.bin": "a"}), "line 0: want an XLSX workbook, but this is a binary one (XLSB): save it as XLSX or CSV"},
		{"a text document", pack(t, parts{"word/document.xml": "<a/>"}), "line 0: want an XLSX workbook, but this is a text document: save it as plain text"},
		{"no sheets", pack(t, none), "line 0: want a workbook that is whole, but it has no sheets"},
		{"a sheet that is missing", pack(t, parts{"xl/workbook.xml": fmt.Sprintf(xmlBook, ""), "xl/_rels/workbook.xml.rels": xmlRels, "xl/sharedStrings.xml": xmlStrings, "xl/styles.xml": xmlStyles}),
			"line 0: want a workbook that is whole, but a part of it is missing"},
		{"texts that are no XML", pack(t, book(parts{"xl/sharedStrings.xml": "<sst><si>"})), "line 0: want a workbook that is whole, but a part of it is damaged or no XML"},
		{"styles that are no XML", pack(t, book(parts{"xl/styles.xml": "<styleSheet><"})), "line 0: want a workbook that is whole, but a part of it is damaged or no XML"},
		{"a workbook that is no XML", pack(t, book(parts{"xl/workbook.xml": "<!DOCTYPE a [<!ENTITY a 'b'>]><a>&a;</a>"})), "line 0: want a workbook that is whole, but a part of it is damaged or no XML"},
		{"a checksum that is wrong", flipped, "line 12: want XML of a sheet to its end; what follows cannot be read"},
		{"no rows", pack(t, book(parts{"xl/worksheets/sheet1.xml": rowsOf("")})), "EOF"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := read(t, tt.data, ""); got[len(got)-1] != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// A small archive that unpacks to more than the bound is refused, in whichever part that lies, and so is a long file.
func TestBombs(t *testing.T) {
	for part, data := range book(nil) {
		if part == "xl/worksheets/old.xml" {
			continue
		}
		t.Run(part, func(t *testing.T) {
			i := strings.LastIndex(data, "<")
			packed := pack(t, book(parts{part: data[:i] + strings.Repeat(" ", 4<<20) + data[i:]}))
			if len(packed) > 64<<10 {
				t.Fatalf("%d bytes, want a small archive", len(packed))
			}
			table, err := sheet.OpenWithin(bytes.NewReader(packed), options(""), 2<<20)
			for err == nil {
				_, err = table.Next()
			}
			if !strings.Contains(err.Error(), "want a workbook of at most 256 MiB, unpacked") {
				t.Error(err)
			}
		})
	}
	if _, err := sheet.Open(decodetest.Endless("PK\x03\x04"), options("")); err == nil || err.Error() != "line 0: want a workbook of at most 64 MiB" {
		t.Errorf("a file without end: %v", err)
	}
}

// What excelize writes is read again, times as times.
func TestWrittenByExcelize(t *testing.T) {
	for _, from1904 := range []bool{false, true} {
		f := excelize.NewFile()
		if err := f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &from1904}); err != nil {
			t.Fatal(err)
		}
		at := time.Date(2026, 11, 24, 21, 40, 30, 0, time.UTC)
		for cell, value := range map[string]any{"A1": "resident", "B1": "time", "C1": "text", "A2": 412, "B2": at, "C2": "Walked\nto the \"lounge\""} {
			if err := f.SetCellValue("Sheet1", cell, value); err != nil {
				t.Fatal(err)
			}
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		if got, want := read(t, b.Bytes(), ""), []string{head, "2: 412|2026-11-24 21:40:30|Walked\nto the \"lounge\""}; !slices.Equal(got, want) {
			t.Errorf("from 1904 %v: got %q, want %q", from1904, got, want)
		}
	}
}

// Any parts of a workbook are read to the end, rows in order and texts in UTF-8.
func FuzzRead(f *testing.F) {
	f.Add(rowsOf(header+`<row r="2"><c r="A2" t="s"><v>3</v></c><c r="B2" s="1"><v>46350.9</v></c><c r="C2" t="inlineStr"><is><t>a_x0041_</t></is></c></row>`), xmlStrings, xmlStyles)
	f.Add(rowsOf(`<row><c t="str"><v>resident</v></c></row><row r="7"><c r="A7" s="5"><v>-1.5E2</v></c><c s="8"><v>1</v></c></row>`), "<sst/>", strings.Replace(xmlStyles, "0000", `#,##0.00 "kg";[Red]-0.0E+0;@`, 1))
	f.Fuzz(func(t *testing.T, rows, texts, styles string) {
		table, err := sheet.Open(bytes.NewReader(pack(t, book(parts{"xl/worksheets/sheet1.xml": rows, "xl/sharedStrings.xml": texts, "xl/styles.xml": styles}))), options(""))
		if err != nil {
			return
		}
		table.TimesIn(1)
		last := 0
		for range len(rows) + 2 {
			rec, err := table.Next()
			var fault *decode.Fault
			line := rec.Line
			switch {
			case err == io.EOF:
				return
			case errors.As(err, &fault):
				line = fault.Line
			case err != nil:
				t.Fatal(err)
			case len(rec.Fields) != len(table.Header()):
				t.Fatalf("%d fields below a header of %d", len(rec.Fields), len(table.Header()))
			}
			for _, s := range rec.Fields {
				if !utf8.ValidString(s) {
					t.Fatalf("not UTF-8: %q", s)
				}
			}
			if line <= last {
				t.Fatalf("row %d after row %d", line, last)
			}
			last = line
		}
		t.Fatal("no end")
	})
}

// FuzzArchive holds that no bytes of an archive do more than give an error.
func FuzzArchive(f *testing.F) {
	f.Add(pack(f, book(nil)))
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := sheet.Open(bytes.NewReader(data), options(""))
		for err == nil {
			_, err = table.Next()
			if fault := (*decode.Fault)(nil); errors.As(err, &fault) {
				err = nil
			}
		}
	})
}
