// Package timeline is the notes of one resident in the order of events, each with what it says, the
// shift it belongs to and the chart row in force.
//
// [New] builds one. The rules read it; nothing in it is changed after that.
package timeline

import (
	"maps"
	"slices"
	"strings"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
	"example.com/stance/lint/shift"
)

// A Timeline is one resident's notes.
type Timeline struct {
	Resident string
	Entries  []*Entry     // by event time; notes of one time stay in the order given
	Rows     []*chart.Row // all charted rows of the resident, in time order
	Charted  bool         // a chart was given, whether or not it has this resident
	Calendar *shift.Calendar

	chart   *chart.Chart
	byShift map[shift.Key][]*Entry
}

// An Entry is one note in its place.
type Entry struct {
	Note    note.Note
	Index   int // of the note among those given
	Reading lexicon.Reading
	Shift   shift.Key
	Row     *chart.Row // in force at the note's time; nil for none
}

// Reader reads a note's text; *lexicon.Lexicon is one.
type Reader interface {
	Read(text string, role lexicon.Role) lexicon.Reading
}

// New is the timeline of the notes, which must all be of the one resident. A nil chart charts nobody.
func New(resident string, notes []note.Note, lex Reader, ch *chart.Chart, cal *shift.Calendar) *Timeline {
	t := &Timeline{
		Resident: resident, Charted: ch != nil, Rows: ch.Rows(resident), Calendar: cal,
		chart: ch, byShift: make(map[shift.Key][]*Entry),
	}
	t.Entries = make([]*Entry, len(notes))
	for i, n := range notes {
		e := &Entry{Note: n, Index: i, Reading: lex.Read(n.Text, n.Role), Shift: cal.Key(n.Time, n.Shift)}
		e.Row, _ = ch.At(resident, n.Time)
		t.Entries[i] = e
	}
	slices.SortStableFunc(t.Entries, func(a, b *Entry) int { return a.Note.Time.Compare(b.Note.Time) })
	for _, e := range t.Entries {
		t.byShift[e.Shift] = append(t.byShift[e.Shift], e)
	}
	return t
}

// On is the entries of that shift, in the order of events. The caller must not change it.
func (t *Timeline) On(k shift.Key) []*Entry { return t.byShift[k] }

// Shifts are the shifts that have a note, each once, in time order.
func (t *Timeline) Shifts() []shift.Key {
	return slices.SortedFunc(maps.Keys(t.byShift), shift.Key.Compare)
}

// RowAt is the chart row in force at that moment, or nil.
func (t *Timeline) RowAt(at time.Time) *chart.Row {
	r, _ := t.chart.At(t.Resident, at)
	return r
}

// RowBefore is the row that came before r in the chart, or nil.
func (t *Timeline) RowBefore(r *chart.Row) *chart.Row {
	if i := slices.Index(t.Rows, r); i > 0 {
		return t.Rows[i-1]
	}
	return nil
}

// Words is the text of the note at that place.
func (e *Entry) Words(s lexicon.Span) string {
	if s.Start < 0 || s.End > len(e.Note.Text) || s.Start > s.End {
		return ""
	}
	return e.Note.Text[s.Start:s.End]
}

// Opening is the place of the note's first words, for a finding about the note as a whole: its
// first line that is not blank, cut after at most 60 bytes at the end of a word.
func (e *Entry) Opening() lexicon.Span {
	const most = 60
	text := e.Note.Text
	body := strings.TrimLeft(text, " \t\r\n")
	start := len(text) - len(body)
	line, _, _ := strings.Cut(body, "\n")
	line = strings.TrimRight(line, " \t\r")
	if len(line) > most {
		cut := strings.LastIndexAny(line[:most+1], " \t")
		if cut <= 0 {
			cut = most
			for cut > 0 && line[cut]&0xC0 == 0x80 { // never inside a character
				cut--
			}
		}
		line = strings.TrimRight(line[:cut], " \t")
	}
	lead := text[:start]
	return lexicon.Span{
		Start:  start,
		End:    start + len(line),
		Line:   1 + strings.Count(lead, "\n"),
		Column: 1 + len([]rune(lead[strings.LastIndexByte(lead, '\n')+1:])),
	}
}

// Any reports whether the note has a statement that pick accepts.
func (e *Entry) Any(pick func(*lexicon.Statement) bool) bool {
	for i := range e.Reading.Statements {
		if pick(&e.Reading.Statements[i]) {
			return true
		}
	}
	return false
}

// Done reports whether the note says that one of the concepts happened or is so in this shift.
func (e *Entry) Done(concepts ...string) bool {
	return e.Any(func(s *lexicon.Statement) bool { return s.Done() && slices.Contains(concepts, s.Concept) })
}

// Mentions reports whether the note says anything of the resident, of either polarity and any time,
// with a concept in one of the groups ("move", "bearing" …).
func (e *Entry) Mentions(groups ...string) bool {
	return e.Any(func(s *lexicon.Statement) bool {
		return s.Who == lexicon.Resident && slices.Contains(groups, s.Group())
	})
}
