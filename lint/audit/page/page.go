// Package page writes the report of an audit as one HTML page that needs nothing else: no script, no
// network, no other file. It can be read on a small and a large screen, in light and dark, printed in
// black and white, and heard: every drawing stands beside a table of its figures.
//
// It works nothing out; see package audit for the figures and package draw for the drawings.
package page

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"example.com/stance/lint/audit"
)

//go:embed page.html
var layout string

//go:embed page.css
var sheet string

// HTML writes the report. Of residents, who may be many, it gives the rate of all rules together; the
// tidy table has each rule. An error is that of the writer.
func HTML(w io.Writer, r *audit.Report) error {
	t, err := template.New("page").Funcs(template.FuncMap{"few": few}).Parse(layout)
	if err != nil {
		return fmt.Errorf("template of the page: %w", err)
	}
	v, err := viewOf(r)
	if err != nil {
		return err
	}
	return t.Execute(w, v)
}
