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
	Time    time.Time // of the events: the note's, or the stated one of a late entry
	Shift   shift.Key
	Row     *chart.Row // in force at that time; nil for none
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
		e := &Entry{Note: n, Index: i, Reading: lex.Read(n.Text, n.Role).WrittenAt(n.Time), Time: n.Time, Shift: cal.Key(n.Time, n.Shift)}
		if at, late := lateTime(n.Time, e.Reading.Late); late {
			e.Time, e.Shift = at, cal.Key(at, "") // the shift stated is the one that wrote it
		}
		e.Row, _ = ch.At(resident, e.Time)
		t.Entries[i] = e
	}
	slices.SortStableFunc(t.Entries, func(a, b *Entry) int { return a.Time.Compare(b.Time) })
	for _, e := range t.Entries {
		t.byShift[e.Shift] = append(t.byShift[e.Shift], e)
	}
	return t
}

// lateTime is the latest moment, no later than that of writing, at which the wall clock of the note
// showed the time of day "HH:MM".
func lateTime(written time.Time, clock string) (time.Time, bool) {
	of, err := time.Parse("15:04", clock)
	if err != nil {
		return time.Time{}, false
	}
	at := func(day int) time.Time {
		return time.Date(written.Year(), written.Month(), day, of.Hour(), of.Minute(), 0, 0, written.Location())
	}
	if today := at(written.Day()); !today.After(written) {
		return today, true
	}
	return at(written.Day() - 1), true
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
