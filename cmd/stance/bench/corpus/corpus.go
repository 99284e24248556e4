// Package corpus invents the notes of a home from a seed: the same seed gives the same bytes, so that two
// programs, or one program on two days, are measured on the same work.
package corpus

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"time"
)

// A Home is what is to be invented.
type Home struct {
	Seed      uint64
	Notes     int
	Residents int
}

const (
	shiftsADay   = 3
	unitSize     = 24 // residents
	mobility     = 35 // percent of sentences
	copiedAgain  = 20 // of 1000 notes, those that repeat the resident's last one
	copiedAcross = 3  // of 1000 notes, those that repeat the note before, on another resident
)

// A note is a line of the file.
type note struct {
	Note     string `json:"note"`
	Resident string `json:"resident"`
	Unit     string `json:"unit"`
	Time     string `json:"time"`
	Shift    string `json:"shift"`
	Role     string `json:"role"`
	Author   string `json:"author"`
	Text     string `json:"text"`
}

// A Writer puts notes down in one form.
type Writer interface {
	put(n *note) error
	flush() error
}

type jsonLines struct {
	buf *bufio.Writer
	enc *json.Encoder
}

// JSONLines writes one object a line.
func JSONLines(w io.Writer) Writer {
	buf := bufio.NewWriter(w)
	enc := json.NewEncoder(buf)
	enc.SetEscapeHTML(false)
	return &jsonLines{buf, enc}
}

func (j *jsonLines) put(n *note) error { return j.enc.Encode(n) }
func (j *jsonLines) flush() error      { return j.buf.Flush() }

type table struct{ w *csv.Writer }

// Table writes id, resident, unit and text as CSV without a header, as a database takes them in.
func Table(w io.Writer) Writer { return &table{csv.NewWriter(w)} }

func (t *table) put(n *note) error {
	return t.w.Write([]string{n.Note, n.Resident, n.Unit, n.Text})
}

func (t *table) flush() error {
	t.w.Flush()
	return t.w.Error()
}

// Write writes the home's notes in the order of time, one a shift on each resident.
func (h Home) Write(to ...Writer) error {
	g := h.newGenerator()
	for i := range h.Notes {
		n := g.note(i, i%h.Residents)
		for _, w := range to {
			if err := w.put(n); err != nil {
				return err
			}
		}
	}
	var errs []error
	for _, w := range to {
		errs = append(errs, w.flush())
	}
	return errors.Join(errs...)
}

// WriteNext writes the notes of the shift that comes after the home's notes, on so many residents.
func (h Home) WriteNext(w Writer, notes int) error {
	next := h
	next.Seed++
	g := next.newGenerator()
	first := (h.Notes + h.Residents - 1) / h.Residents * h.Residents
	for i := range notes {
		if err := w.put(g.note(first+i, i%h.Residents)); err != nil {
			return err
		}
	}
	return w.flush()
}

// LastShift is the shift of the home's last note, as the commands name it.
func (h Home) LastShift() string {
	_, day, name := h.shiftOf(h.Notes - 1)
	return day + "/" + name
}

// Resident is the name of one of the residents.
func (h Home) Resident(r int) string { return fmt.Sprintf("R-%05d", r+1) }

// WriteChart writes the residents' chart: a row for each, and for every third a second one later.
func (h Home) WriteChart(w io.Writer) error {
	rng := rand.New(rand.NewPCG(h.Seed, 2))
	c := csv.NewWriter(w)
	c.Write([]string{"resident", "unit", "from", "until", "left_leg", "right_leg", "left_arm", "right_arm", "transfer", "staff", "aids", "walk", "by"}) // Error gives it
	row := func(r int, from time.Time) {
		leg := pick(rng, "fwb", "fwb", "wbat", "pwb:50", "nwb", "ttwb")
		way := pick(rng, "one-person", "one-person-pivot", "two-person", "two-person-pivot", "independent", "supervised", "sit-stand-lift", "total-lift")
		staff, aids, walk := "1", "walker-2w;belt", "with-aid"
		switch way {
		case "independent", "supervised":
			staff, aids = "0", "cane"
		case "two-person", "two-person-pivot":
			staff = "2"
		case "sit-stand-lift", "total-lift":
			staff, aids, walk = "2", "wheelchair", "no"
		}
		c.Write([]string{h.Resident(r), unitOf(r), from.Format(time.RFC3339), "", leg, "fwb", "", "", way, staff, aids, walk, "therapist"}) // Error gives it
	}
	shifts := (h.Notes + h.Residents - 1) / h.Residents
	for r := range h.Residents {
		row(r, start().AddDate(0, 0, -1))
		if r%3 == 0 {
			row(r, start().AddDate(0, 0, shifts/shiftsADay/2))
		}
	}
	c.Flush()
	return c.Error()
}

func start() time.Time { return time.Date(2024, 1, 1, 7, 0, 0, 0, time.UTC) }

func unitOf(r int) string { return fmt.Sprintf("Unit %d", r/unitSize+1) }

// shiftOf is the time, day and name of the shift of a note.
func (h Home) shiftOf(i int) (at time.Time, day, name string) {
	n := i / h.Residents
	at = start().AddDate(0, 0, n/shiftsADay).Add(time.Duration(n%shiftsADay) * 8 * time.Hour)
	return at, at.Format(time.DateOnly), [shiftsADay]string{"day", "evening", "night"}[n%shiftsADay]
}

// A generator makes one note after another.
type generator struct {
	home Home
	rng  *rand.Rand
	last []string // text of each resident
	text string   // of the note before
}

func (h Home) newGenerator() *generator {
	return &generator{home: h, rng: rand.New(rand.NewPCG(h.Seed, 1)), last: make([]string, h.Residents)}
}

func (g *generator) note(i, resident int) *note {
	at, _, shift := g.home.shiftOf(i)
	at = at.Add(time.Duration(g.rng.IntN(7*3600)) * time.Second)
	text := g.newText()
	switch p := g.rng.IntN(1000); {
	case p < copiedAgain && g.last[resident] != "":
		text = g.last[resident] + " Settled."
	case p < copiedAgain+copiedAcross && g.text != "":
		text = g.text
	}
	g.last[resident], g.text = text, text
	return &note{
		Note: fmt.Sprintf("N%08d", i+1), Resident: g.home.Resident(resident), Unit: unitOf(resident),
		Time: at.Format(time.RFC3339), Shift: shift, Role: pick(g.rng, "care worker", "care worker", "care worker", "nurse", "therapist"),
		Author: fmt.Sprintf("A%03d", g.rng.IntN(300)), Text: text,
	}
}

func (g *generator) newText() string {
	var b strings.Builder
	for range 4 + g.rng.IntN(4) {
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		if g.rng.IntN(100) < mobility {
			b.WriteString(g.fill(pick(g.rng, moves()...)))
		} else {
			b.WriteString(g.fill(pick(g.rng, others()...)))
		}
	}
	return b.String()
}

// fill puts a choice in the place of each {a|b|c} of a pattern.
func (g *generator) fill(pattern string) string {
	var b strings.Builder
	for {
		before, rest, ok := strings.Cut(pattern, "{")
		b.WriteString(before)
		if !ok {
			return b.String()
		}
		choices, after, _ := strings.Cut(rest, "}")
		b.WriteString(pick(g.rng, strings.Split(choices, "|")...))
		pattern = after
	}
}

func pick(rng *rand.Rand, of ...string) string { return of[rng.IntN(len(of))] }
