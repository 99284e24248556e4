package sheet

import (
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"example.com/stance/lint/internal/decode"
)

// A row is one row of a sheet, its cells from left to right.
type row struct {
	number int // from 1
	cells  []cell
}

// width is how many columns the row reaches over.
func (r row) width() int {
	if len(r.cells) == 0 {
		return 0
	}
	return r.cells[len(r.cells)-1].column + 1
}

// A cell is one cell that is not empty, as its part has it.
type cell struct {
	column int    // from 0
	kind   string // the attribute t: "s" for a shared text, "n" or empty for a number …
	style  int
	value  string
}

// rows reads the rows of a sheet.
type rows struct {
	in    *xml.Decoder
	limit int
	last  int   // number of the row read last
	end   error // once met
}

func newRows(in io.Reader, limit int) *rows {
	return &rows{in: xml.NewDecoder(in), limit: limit}
}

// next is the next row; io.EOF after the last. A *decode.Fault is a row that cannot be read.
func (r *rows) next() (row, error) {
	for r.end == nil {
		token, err := r.in.Token()
		if err != nil {
			r.end = io.EOF
			if err != io.EOF {
				return row{}, fault(err, r.last+1)
			}
			break
		}
		if start, ok := token.(xml.StartElement); ok && start.Name.Local == "row" {
			return r.row(start)
		}
	}
	return row{}, r.end
}

// row reads a row to its end.
func (r *rows) row(start xml.StartElement) (row, error) {
	out := row{number: r.last + 1}
	if n, err := strconv.Atoi(attribute(start, "r")); err == nil {
		out.number = n
	}
	if out.number <= r.last || out.number > excelize.TotalRows {
		r.end = io.EOF // what row it is cannot be told, nor that of any after it
		return row{}, &decode.Fault{Line: r.last + 1, Want: "rows in order, each with a number of its own; what follows is not read"}
	}
	r.last = out.number
	size, column, want := 0, -1, ""
	for {
		token, err := r.in.Token()
		if err != nil {
			r.end = io.EOF
			return row{}, fault(err, out.number)
		}
		switch t := token.(type) {
		case xml.EndElement:
			if t.Name.Local != "row" {
				continue
			}
			if want != "" {
				return row{}, &decode.Fault{Line: out.number, Want: want}
			}
			return out, nil
		case xml.StartElement:
			if t.Name.Local != "c" {
				continue
			}
			c, ok, err := r.cell(t)
			if err != nil {
				r.end = io.EOF
				return row{}, fault(err, out.number)
			}
			if c.column < 0 {
				c.column = column + 1
			}
			switch {
			case !ok:
				want = "cells with a name such as B7 and a style"
			case c.column <= column:
				want = "cells from left to right"
			case c.column >= mostColumns:
				if c.value != "" {
					want = fmt.Sprintf("a row of at most %d cells", mostColumns)
				}
				continue
			}
			column = c.column
			if size += len(c.value); size > r.limit {
				want, out.cells = tooLong(out.number, r.limit).Want, nil
			}
			if want == "" && c.value != "" {
				out.cells = append(out.cells, c)
			}
		}
	}
}

// cell reads a cell to its end. Its column is -1 where it does not say. The bool is false where it says what no cell has.
func (r *rows) cell(start xml.StartElement) (cell, bool, error) {
	c := cell{column: -1, kind: attribute(start, "t")}
	ok := true
	if ref := attribute(start, "r"); ref != "" {
		column, _, err := excelize.CellNameToCoordinates(ref)
		c.column, ok = column-1, err == nil
	}
	if s := attribute(start, "s"); s != "" {
		n, err := strconv.Atoi(s)
		c.style, ok = n, ok && err == nil && n >= 0
	}
	var text strings.Builder
	inside := "" // v, or t of an inline text
	for {
		token, err := r.in.Token()
		if err != nil {
			return c, ok, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "v", "t":
				inside = t.Name.Local
			case "f", "rPh", "extLst": // a formula, of which v is the value; how a text is pronounced
				if err := r.in.Skip(); err != nil {
					return c, ok, err
				}
			}
		case xml.CharData:
			if inside == "v" && c.kind != "inlineStr" || inside == "t" && c.kind == "inlineStr" {
				text.Write(t)
			}
		case xml.EndElement:
			inside = ""
			if t.Name.Local == "c" {
				c.value = text.String()
				return c, ok, nil
			}
		}
	}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}
