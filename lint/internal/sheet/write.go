package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// A Sheet is rows to be written below a header.
type Sheet struct {
	Name    string
	Columns []Column
	Rows    [][]any  // strings, ints, float64s, and times, which are shown on their own clock; nil is an empty cell
	Below   []string // what stands under the rows, a line each
}

// A Column is one column of a sheet.
type Column struct {
	Name  string
	Width float64 // in characters of the usual size
}

// mostText is how many characters a cell may have (18.18 of the standard has no bound; programs have this one).
const mostText = excelize.TotalCellChars

// Write writes a workbook of sheets. No text of a cell becomes a formula, and the same sheets give the same bytes.
func Write(w io.Writer, sheets []Sheet) error {
	f := excelize.NewFile()
	f.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return &sorted{to: w, parts: map[string]*bytes.Buffer{}} })
	made := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Format(time.RFC3339) // when it was written is no part of what it says
	if err := f.SetDocProps(&excelize.DocProperties{Creator: "stance", LastModifiedBy: "stance", Created: made, Modified: made}); err != nil {
		return err
	}
	for i, s := range sheets {
		if i == 0 {
			if err := f.SetSheetName("Sheet1", s.Name); err != nil {
				return err
			}
		} else if _, err := f.NewSheet(s.Name); err != nil {
			return err
		}
		if err := writeSheet(f, &s); err != nil {
			return fmt.Errorf("writing sheet %s: %w", s.Name, err)
		}
	}
	return f.Write(w)
}

func writeSheet(f *excelize.File, s *Sheet) error {
	form := "yyyy-mm-dd hh:mm"
	top := &excelize.Alignment{Vertical: "top", WrapText: true}
	var styles [3]int
	for i, style := range []*excelize.Style{
		{Font: &excelize.Font{Bold: true}, Alignment: top},
		{Alignment: top},
		{Alignment: &excelize.Alignment{Vertical: "top"}, CustomNumFmt: &form},
	} {
		var err error
		if styles[i], err = f.NewStyle(style); err != nil {
			return err
		}
	}
	head, plain, date := styles[0], styles[1], styles[2]
	for i, c := range s.Columns {
		name, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		if err := f.SetColWidth(s.Name, name, name, c.Width); err != nil {
			return err
		}
		if err := put(f, s.Name, i, 0, c.Name, head); err != nil {
			return err
		}
	}
	for r, row := range s.Rows {
		for i, value := range row {
			style := plain
			if at, ok := value.(time.Time); ok {
				style = date
				// The wall clock: a workbook has no zones.
				value = time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), 0, time.UTC)
			}
			if err := put(f, s.Name, i, r+1, value, style); err != nil {
				return err
			}
		}
	}
	for i, line := range s.Below {
		if err := put(f, s.Name, 0, len(s.Rows)+2+i, line, 0); err != nil {
			return err
		}
	}
	last, err := excelize.CoordinatesToCellName(len(s.Columns), len(s.Rows)+1)
	if err != nil {
		return err
	}
	if err := f.AutoFilter(s.Name, "A1:"+last, nil); err != nil {
		return err
	}
	return f.SetPanes(s.Name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}

// put sets a cell, its column and row from 0.
func put(f *excelize.File, sheet string, column, row int, value any, style int) error {
	if value == nil {
		return nil
	}
	at, err := excelize.CoordinatesToCellName(column+1, row+1)
	if err != nil {
		return err
	}
	if text, ok := value.(string); ok {
		if text == "" {
			return nil
		}
		err = f.SetCellStr(sheet, at, cut(escape(Guard(text))))
	} else {
		err = f.SetCellValue(sheet, at, value)
	}
	if err != nil {
		return err
	}
	return f.SetCellStyle(sheet, at, at, style)
}

// Guard is a text that a spreadsheet takes for text, in a workbook or as CSV: one that would start a formula gets an
// apostrophe before it (OWASP, CSV Injection, 2020, from memory).
func Guard(s string) string {
	if first, _ := utf8.DecodeRuneInString(s); s != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + s
	}
	return s
}

// escape keeps what looks like an escape of a cell's text from being one, and leaves out what XML cannot have.
func escape(s string) string {
	s = regexp.MustCompile(`_(x[0-9A-Fa-f]{4}_)`).ReplaceAllString(strings.ToValidUTF8(s, "\uFFFD"), "_x005F_$1")
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xfffe || r == 0xffff {
			return ' '
		}
		return r
	}, s)
}

// cut shortens a text that no cell may have.
func cut(s string) string {
	if utf8.RuneCountInString(s) <= mostText/2 { // a character has at most two units of UTF-16
		return s
	}
	units := 0
	for i, r := range s {
		if units++; r > 0xffff {
			units++
		}
		if units > mostText-1 {
			return s[:i] + "…"
		}
	}
	return s
}

// sorted writes the parts of an archive by name, and none has a time.
type sorted struct {
	to    io.Writer
	parts map[string]*bytes.Buffer
}

func (s *sorted) Create(name string) (io.Writer, error) {
	s.parts[name] = new(bytes.Buffer)
	return s.parts[name], nil
}

// AddFS is asked for by the interface, and by nothing that is written here.
func (s *sorted) AddFS(fs.FS) error {
	return fmt.Errorf("adding folders to a workbook: %w", fs.ErrInvalid)
}

func (s *sorted) Close() error {
	w := zip.NewWriter(s.to)
	for _, name := range slices.Sorted(maps.Keys(s.parts)) {
		part, err := w.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
		if err != nil {
			return err
		}
		if _, err := part.Write(s.parts[name].Bytes()); err != nil {
			return err
		}
	}
	return w.Close()
}
