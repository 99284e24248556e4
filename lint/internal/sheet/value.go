package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
	"github.com/xuri/nfp"

	"example.com/stance/lint/internal/decode"
)

// readStrings reads the texts that cells share.
func (b *book) readStrings() error {
	part := b.partOf("sharedStrings")
	if part == "" {
		return nil
	}
	r, err := b.open(part)
	if err != nil {
		return err
	}
	in := xml.NewDecoder(r)
	var text strings.Builder
	inside := false // of a t
	for {
		token, err := in.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fault(err, 0)
		}
		switch t := token.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "si":
				text.Reset()
			case "t":
				inside = true
			case "rPh", "phoneticPr", "extLst":
				if err := in.Skip(); err != nil {
					return fault(err, 0)
				}
			}
		case xml.CharData:
			if inside {
				text.Write(t)
			}
		case xml.EndElement:
			inside = false
			if t.Name.Local != "si" {
				continue
			}
			if len(b.strings) == mostStrings {
				return &decode.Fault{Want: fmt.Sprintf("a workbook of at most %d texts", mostStrings)}
			}
			b.strings = append(b.strings, unescape(text.String()))
		}
	}
}

// unescape undoes _xHHHH_, by which texts of cells have characters that XML has not (ST_Xstring). A control character
// stays as it is written, but for those of white space.
func unescape(s string) string {
	const escaped = len("_x0041_")
	var out strings.Builder
	for {
		i := strings.Index(s, "_x")
		if i < 0 || i+escaped > len(s) {
			out.WriteString(s)
			return out.String()
		}
		n, err := strconv.ParseUint(s[i+2:i+6], 16, 16)
		known := err == nil && s[i+6] == '_' && (n >= ' ' && n != 0x7f && (n < 0xd800 || n > 0xdfff) && n < 0xfffe || n == '\t' || n == '\n' || n == '\r')
		if !known {
			out.WriteString(s[:i+2])
			s = s[i+2:]
			continue
		}
		out.WriteString(s[:i])
		out.WriteRune(rune(n))
		s = s[i+escaped:]
	}
}

// text is what a cell says. The bool is false where it refers to a text that is not in the workbook.
func (b *book) text(c cell, isTime bool) (string, bool) {
	switch c.kind {
	case "s":
		i, err := strconv.Atoi(strings.TrimSpace(c.value))
		if err != nil || i < 0 || i >= len(b.strings) {
			return "", false
		}
		return b.strings[i], true
	case "inlineStr", "str":
		return unescape(c.value), true
	case "b":
		return map[string]string{"0": "FALSE", "1": "TRUE"}[strings.TrimSpace(c.value)], true
	case "e": // an error of a formula says nothing
		return "", true
	case "d": // ISO 8601
		return c.value, true
	}
	return b.number(strings.TrimSpace(c.value), c.style, isTime), true
}

// Serial dates that a cell of a column of times may have although its format is that of a number: 1950 to 2199.
const (
	earliestSerial = 18264
	latestSerial   = 109573
)

func (b *book) number(value string, style int, isTime bool) string {
	n, err := strconv.ParseFloat(value, 64)
	if err != nil || math.IsInf(n, 0) || math.IsNaN(n) {
		return value
	}
	form := b.styles.form(style)
	if form.date || form.clock || isTime && form.general && earliestSerial <= n && n <= latestSerial {
		if at, ok := b.moment(n, form); ok {
			return at
		}
	}
	if form.general || form.date || form.clock {
		return plainNumber(value, n)
	}
	return b.styles.show(value, style)
}

// moment is a serial date in a form that package when reads: a date alone where neither the value nor its format has a
// time of day. The bool is false where there is no such day.
func (b *book) moment(serial float64, form form) (string, bool) {
	t, err := excelize.ExcelDateToTime(serial, b.from1904)
	if err != nil || serial >= 2958466 { // the day after 31 December 9999
		return "", false
	}
	t = t.Round(time.Millisecond) // a double has about a microsecond
	whole := t.Truncate(24 * time.Hour).Equal(t)
	switch {
	case !form.date && form.clock && serial < 1:
		return t.Format("15:04:05.999"), true
	case whole && !form.clock:
		return t.Format(time.DateOnly), true
	}
	return t.Format("2006-01-02 15:04:05.999"), true
}

// plainNumber is a number as a cell without a format shows it: in figures, of which a double has fifteen.
func plainNumber(value string, n float64) string {
	if math.Abs(n) >= 1e15 || n != 0 && math.Abs(n) < 1e-9 {
		return value
	}
	short, err := strconv.ParseFloat(strconv.FormatFloat(n, 'g', 15, 64), 64)
	if err != nil {
		return value
	}
	return strconv.FormatFloat(short, 'f', -1, 64)
}

// styles are those of a workbook.
type styles struct {
	book  *excelize.File // of one empty sheet, with the workbook's styles
	forms map[int]form
}

// A form is what a style makes of a number.
type form struct {
	general     bool // it is shown as it is
	date, clock bool // it is a date, a time of day
}

// The parts of a workbook that has nothing but styles.
const (
	stubTypes = `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`
	stubTop   = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`
	stubBook  = `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>`
	stubRels  = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`
	stubSheet = `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData/></worksheet>`
	stubStyle = `<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"/>`
)

// readStyles hands the styles to excelize, in a workbook of their own.
func (b *book) readStyles() error {
	b.styles = &styles{forms: map[int]form{}}
	sheet := []byte(stubStyle)
	if part := b.partOf("styles"); part != "" {
		var err error
		if sheet, err = b.read(part); err != nil {
			return err
		}
		if err := xml.Unmarshal(sheet, new(struct{})); err != nil {
			return fault(err, 0)
		}
	}
	var packed bytes.Buffer
	w := zip.NewWriter(&packed)
	for _, part := range []struct {
		name string
		data []byte
	}{
		{"[Content_Types].xml", []byte(stubTypes)},
		{"_rels/.rels", []byte(stubTop)},
		{"xl/workbook.xml", []byte(stubBook)},
		{"xl/_rels/workbook.xml.rels", []byte(stubRels)},
		{"xl/worksheets/sheet1.xml", []byte(stubSheet)},
		{"xl/styles.xml", sheet},
	} {
		f, err := w.CreateHeader(&zip.FileHeader{Name: part.name, Method: zip.Store})
		if err != nil {
			return err
		}
		if _, err := f.Write(part.data); err != nil {
			return err
		}
	}
	if err := w.Close(); err != nil {
		return err
	}
	var err error
	if b.styles.book, err = excelize.OpenReader(&packed, excelize.Options{UnzipSizeLimit: mostSmall + 1<<20, UnzipXMLSizeLimit: mostSmall + 1<<20}); err != nil {
		return broken("its styles cannot be read")
	}
	return nil
}

// form is what the style with that number makes of a number.
func (s *styles) form(style int) form {
	f, ok := s.forms[style]
	if !ok {
		f = s.formOf(style)
		s.forms[style] = f
	}
	return f
}

func (s *styles) formOf(style int) form {
	sheet := s.book.Styles
	if sheet == nil || sheet.CellXfs == nil || style >= len(sheet.CellXfs.Xf) || sheet.CellXfs.Xf[style].NumFmtID == nil {
		return form{general: true}
	}
	id := *sheet.CellXfs.Xf[style].NumFmtID
	if sheet.NumFmts != nil {
		for _, f := range sheet.NumFmts.NumFmt {
			if f.NumFmtID == id {
				return formOfCode(f.FormatCode)
			}
		}
	}
	return formOfID(id)
}

// formOfID is the form of a format that has a number of its own (18.8.30 of the standard).
func formOfID(id int) form {
	switch {
	case id == 0 || id == 49: // general, and text
		return form{general: true}
	case id == 22:
		return form{date: true, clock: true}
	case 14 <= id && id <= 17, 27 <= id && id <= 31, id == 36, 50 <= id && id <= 54, id == 57, id == 58:
		return form{date: true}
	case 18 <= id && id <= 21, 32 <= id && id <= 35, id == 45, id == 47, id == 55, id == 56:
		return form{clock: true}
	}
	return form{}
}

func formOfCode(code string) form {
	parser := nfp.NumberFormatParser()
	sections := parser.Parse(code)
	if len(sections) == 0 {
		return form{general: true}
	}
	var f form
	minutes := false // or months
	for _, item := range sections[0].Items {
		switch item.TType {
		case nfp.TokenTypeGeneral, nfp.TokenTypeTextPlaceHolder:
			f.general = true
		case nfp.TokenTypeElapsedDateTimes: // hours that pass 24
			return form{}
		case nfp.TokenTypeDateTimes:
			switch part := strings.ToLower(item.TValue); {
			case strings.HasPrefix(part, "h"), strings.HasPrefix(part, "s"), strings.HasPrefix(part, "a"):
				f.clock = true
			case part == "m" || part == "mm":
				minutes = true
			default:
				f.date = true
			}
		}
	}
	if minutes && !f.clock { // a month, as in "mm/yyyy"
		f.date = true
	}
	if f.date || f.clock {
		f.general = false
	}
	return f
}

// show is a number as its style shows it.
func (s *styles) show(value string, style int) string {
	const at = "A1"
	if s.book.SetCellStyle("S", at, at, style) != nil || s.book.SetCellDefault("S", at, value) != nil {
		return value
	}
	shown, err := s.book.GetCellValue("S", at)
	if err != nil {
		return value
	}
	return strings.TrimSpace(shown)
}
