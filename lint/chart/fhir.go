package chart

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/fhir"
	"example.com/stance/lint/internal/sheet"
	"example.com/stance/lint/internal/when"
)

// Options say how a chart of any form is read.
type Options struct {
	Zone  *time.Location // of times written without an offset; nil is the machine's
	Codes Codes          // those of FHIR that are not of [OwnSystem]
	Sheet string         // of a workbook: its name, or its number from 1; empty is the first
}

// ReadAny reads a chart in any form: FHIR R4 and XLSX workbooks, told by their content, or else as [Read] does. passed
// counts the resources that state nothing of a chart, by type.
func ReadAny(name string, r io.Reader, opt Options) (c *Chart, passed map[string]int, bad []error, err error) {
	start := bufio.NewReader(r)
	if sample, _ := start.Peek(4); sheet.Is(sample) { // an error comes again when more is read
		c, bad, err := readBook(name, start, opt)
		return c, nil, bad, err
	}
	zone, codes := opt.Zone, opt.Codes
	text, err := decode.Open(start)
	if err != nil {
		return nil, nil, nil, place(name, err)
	}
	if !fhir.Is(text.Sample()) {
		c, bad, err = read(name, text, zone)
		return c, nil, bad, err
	}
	s := statuses{zone: zone, codes: codes, passed: map[string]int{}, of: map[string][]status{}}
	in := fhir.NewReader(text)
	for {
		res, err := in.Next()
		if err == io.EOF {
			break
		}
		var f *decode.Fault
		switch {
		case errors.As(err, &f):
			s.bad = append(s.bad, Fault{f.Line, "want " + f.Want})
			continue
		case err != nil:
			return nil, nil, nil, place(name, err)
		}
		s.resource(res)
	}
	c, clashes := build(s.rows())
	s.bad = append(s.bad, clashes...)
	return c, s.passed, located(name, "", s.bad), nil
}

// A status is one cell of a chart for as long as a resource states it.
type status struct {
	from, until time.Time // until may be zero
	col, value  string
	unit, by    string
	line        int
}

// mostStatuses is how many statuses one resident may have: some years of daily observations.
const mostStatuses = 20000

// statuses are what the resources of a file state, by resident.
type statuses struct {
	zone      *time.Location
	codes     Codes
	passed    map[string]int
	of        map[string][]status
	residents []string // in the order of the file
	bad       []Fault
}

func (s *statuses) resource(res *fhir.Resource) {
	coded, unread, err := res.Codes()
	var f *decode.Fault
	if errors.As(err, &f) {
		s.bad = append(s.bad, Fault{f.Line, "want " + f.Want})
		return
	}
	known := false
	for _, c := range coded {
		for col, v := range s.codes.meaning(c.Code, c.Value) {
			known = true
			if wrong := s.add(c, col, v); wrong != "" {
				s.bad = append(s.bad, Fault{c.Line, wrong})
			}
		}
	}
	switch {
	case unread != "":
		s.passed[unread]++
	case !known && !fhir.Helping(res.Type):
		s.passed[res.Type]++
	}
}

func (s *statuses) add(c fhir.Coded, col, value string) (wrong string) {
	if wrong := CheckCell(col, value); wrong != "" {
		return wrong
	}
	if c.Resident == "" {
		return "subject is empty: want a reference to a Patient, or an identifier"
	}
	st := status{col: col, value: value, unit: c.Unit, by: c.By, line: c.Line}
	var err error
	if st.from, err = moment(c.From, s.zone, false); err != nil {
		return "time from which a status holds: want " + err.Error()
	}
	if c.Until != "" {
		if st.until, err = moment(c.Until, s.zone, true); err != nil {
			return "end of a period: want " + err.Error()
		}
		if !st.until.After(st.from) {
			return "end of a period: want a time after its start"
		}
	}
	if _, ok := s.of[c.Resident]; !ok {
		s.residents = append(s.residents, c.Resident)
	}
	if len(s.of[c.Resident]) == mostStatuses {
		return fmt.Sprintf("want at most %d statuses of one resident", mostStatuses)
	}
	s.of[c.Resident] = append(s.of[c.Resident], st)
	return ""
}

// moment is a dateTime of FHIR. A date alone is its first moment or, at the end of a period, which includes it, its last.
func moment(text string, zone *time.Location, end bool) (time.Time, error) {
	if zone == nil {
		zone = time.Local
	}
	day, err := time.ParseInLocation(time.DateOnly, text, zone)
	switch {
	case err != nil:
		return when.Parse(text, zone)
	case end:
		return day.AddDate(0, 0, 1), nil
	}
	return day, nil
}

// rows are the rows that the statuses come to: one for each time at which something of a resident's status changed.
func (s *statuses) rows() []Row {
	var rows []Row
	for _, resident := range s.residents {
		list := s.of[resident]
		slices.SortStableFunc(list, func(a, b status) int { return a.from.Compare(b.from) })
		s.clashes(resident, list)
		supersede(list)
		rows = append(rows, s.course(resident, list)...)
	}
	return rows
}

// clashes tells of statuses that differ from one and the same moment on. The one that stands lower in the file counts.
func (s *statuses) clashes(resident string, list []status) {
	last := make(map[string]status)
	for _, st := range list {
		if old, ok := last[st.col]; ok && st.col != "aids" && old.from.Equal(st.from) && old.value != st.value {
			s.bad = append(s.bad, Fault{st.line, fmt.Sprintf("resident %s has two values of %s from %s, here and on line %d: want one",
				quote(resident), st.col, form(st.from), old.line)})
		}
		last[st.col] = st
	}
}

// supersede ends each status where a later one of its column starts that has no end. Aids are added to one another.
func supersede(list []status) {
	open := make(map[string]time.Time)
	for i := len(list) - 1; i >= 0; i-- {
		st := &list[i]
		if st.col == "aids" {
			continue
		}
		if from, ok := open[st.col]; ok && (st.until.IsZero() || st.until.After(from)) {
			st.until = from
		} else if st.until.IsZero() {
			open[st.col] = st.from
		}
	}
}

// course are one resident's rows.
func (s *statuses) course(resident string, list []status) []Row {
	var times []time.Time
	for _, st := range list {
		times = append(times, st.from)
		if !st.until.IsZero() {
			times = append(times, st.until)
		}
	}
	slices.SortFunc(times, time.Time.Compare)
	times = slices.CompactFunc(times, time.Time.Equal)
	var rows []Row
	var held []status
	for i, t := range times {
		for len(list) > 0 && !list[0].from.After(t) {
			held, list = append(held, list[0]), list[1:]
		}
		held = slices.DeleteFunc(held, func(st status) bool { return !st.until.IsZero() && !st.until.After(t) })
		if len(held) == 0 {
			continue
		}
		row, wrong := s.row(resident, t, held)
		if wrong != "" {
			s.bad = append(s.bad, Fault{held[len(held)-1].line, wrong})
			continue
		}
		if i+1 < len(times) {
			row.Until = times[i+1]
		}
		rows = append(rows, row)
	}
	return rows
}

// row is what the statuses in force come to, the later over the earlier.
func (s *statuses) row(resident string, from time.Time, held []status) (Row, string) {
	cells := map[string]string{"resident": resident, "from": form(from)}
	aids := make(map[string]bool)
	line := 0
	for _, st := range held {
		if st.col == "aids" {
			for a := range strings.SplitSeq(st.value, ";") {
				aids[strings.TrimSpace(a)] = true
			}
		} else {
			cells[st.col] = st.value
		}
		if st.unit != "" {
			cells["unit"] = st.unit
		}
		if st.by != "" {
			cells["by"] = st.by
		}
		line = st.line
	}
	cells["aids"] = strings.Join(slices.Sorted(maps.Keys(aids)), ";")
	for _, col := range []string{"transfer", "walk"} {
		if cells[col] == "" {
			return Row{}, fmt.Sprintf("resident %s has no %s from %s: want a code that states it beside the others", quote(resident), col, form(from))
		}
	}
	row, wrong := parse(cells, s.zone)
	row.From, row.Line = from, line // form has no fractions of a second
	return row, wrong
}

// located are faults as errors, in the order of the file, or of the sheet of a workbook.
func located(name, sheet string, bad []Fault) []error {
	slices.SortStableFunc(bad, func(a, b Fault) int { return a.Line - b.Line })
	var faults []error
	for _, f := range bad {
		at := fmt.Sprintf("%s:%d", name, f.Line)
		if sheet != "" {
			at = fmt.Sprintf("%s, sheet '%s', row %d", name, sheet, f.Line)
		}
		faults = append(faults, fmt.Errorf("%s: %s", at, f.What))
	}
	return faults
}
