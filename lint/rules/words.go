package rules

import (
	"fmt"
	"strconv"
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/trade"
)

// The words that messages use for ids. Messages are read at the end of a shift: whole words, no
// abbreviations that a new colleague would have to look up.

// bearingWords names what a charted limb may bear.
func bearingWords(b chart.Bearing) string { return trade.Weight(b.String()).Full() }

// statedWords names what a note says a limb may bear.
func statedWords(s *lexicon.Statement) string {
	st, _ := status(s)
	if st == chart.Full {
		return trade.Weight("fwb").Full()
	}
	b := chart.Bearing{Status: st}
	if pc, ok := s.Percent.Get(); ok && st == chart.Partial {
		b.Percent = pc
	}
	return bearingWords(b)
}

// limbWords names a limb: "left leg", "both legs", "a leg, side unsaid".
func limbWords(limb, side string) string {
	switch side {
	case "both":
		return "both " + limb + "s"
	case "":
		return limb + ", side unsaid"
	}
	return side + " " + limb
}

// wayWords names a charted way to transfer, with its helpers where the way does not tell them:
// "transfer with two helpers", "transfer over a transfer board, two helpers".
func (p *pass) wayWords(r *chart.Row) string {
	n := r.Helpers(p.policy.LiftHelpers)
	w := trade.Way(r.Transfer).Name()
	if !strings.HasPrefix(w, "pivot") {
		w = "transfer " + w
	}
	if n == toldHelpers(r.Transfer) {
		return w
	}
	return w + ", " + helpers(n)
}

// toldHelpers is how many helpers the name of a way of transfer tells; -1 where it tells none.
func toldHelpers(t chart.Transfer) int {
	switch t {
	case chart.Board, chart.SitStandLift, chart.TotalLift:
		return -1
	case chart.OnePerson, chart.OnePersonPivot, chart.OnePersonSide:
		return 1
	case chart.TwoPerson, chart.TwoPersonPivot, chart.TwoPersonSide:
		return 2
	}
	return 0
}

// methodWords names a method that a note states.
func methodWords(m string) string {
	switch m {
	case "pivot":
		return "a pivot"
	case "side-by-side":
		return "side by side"
	case "board", trade.Lift, trade.SitStandLift, trade.TotalLift:
		return trade.Aid(m).One()
	}
	return m
}

// moveWords names a move in the past: "walked 10 m with a cane", "transferred, pivot, one helper".
func moveWords(s *lexicon.Statement) string {
	var b strings.Builder
	switch s.Concept {
	case "move.walk":
		b.WriteString("walked")
	case "move.stairs":
		b.WriteString("took stairs")
	case "move.stand":
		b.WriteString("stood up")
	case "move.transfer":
		b.WriteString("transferred")
	case "move.lift":
		b.WriteString("lifted")
	case "move.up":
		b.WriteString("up")
	case "fall.moved":
		b.WriteString("got up off the floor")
	default:
		b.WriteString("moved")
	}
	if d, ok := s.DistanceM.Get(); ok {
		fmt.Fprintf(&b, " %s m", number(d))
	}
	switch {
	case s.Method == "side-by-side":
		b.WriteString(" side by side")
	case s.Method != "":
		b.WriteString(" with " + methodWords(s.Method))
	}
	if a := walkingAids(s.Aids); len(a) > 0 {
		b.WriteString(" with " + allAids(a))
	} else if s.HasAid("none") {
		b.WriteString(" with no aid")
	}
	if how := helpWords(s); how != "" {
		b.WriteString(", " + how)
	}
	return b.String()
}

// helpWords says how much help a move had, as far as the note tells.
func helpWords(s *lexicon.Statement) string {
	var parts []string
	if n, ok := s.Staff.Get(); ok {
		parts = append(parts, helpers(n))
	}
	switch s.Assist {
	case "":
	case "independent":
		parts = append(parts, "independent")
	case "supervision":
		parts = append(parts, "supervision")
	case "dependent":
		parts = append(parts, "dependent")
	default:
		parts = append(parts, s.Assist+" assistance")
	}
	return strings.Join(parts, ", ")
}

// helpers counts helpers in words.
func helpers(n int) string {
	switch n {
	case 0:
		return "no helper"
	case 1:
		return "one helper"
	case 2:
		return "two helpers"
	case 3:
		return "three helpers"
	case 4:
		return "four helpers"
	}
	return strconv.Itoa(n) + " helpers"
}

// allAids joins the words of aids that were used together, anyAid those of which one is charted.
func allAids(ids []string) string { return joinAids(ids, "and") }
func anyAid(ids []string) string  { return joinAids(ids, "or") }

func joinAids(ids []string, last string) string {
	words := make([]string, len(ids))
	for i, id := range ids {
		words[i] = trade.Aid(id).One()
	}
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " " + last + " " + words[n-1]
	}
	return strings.Join(words, "")
}

// since opens a message about a chart row: "chart since 20 Nov 09:00", with the year where it is not
// that of the note.
func (p *pass) since(r *chart.Row) string {
	if r.From.Year() != p.entry.Note.Time.Year() {
		return "chart since " + r.From.Format("2 Jan 2006 15:04")
	}
	return "chart since " + r.From.Format("2 Jan 15:04")
}

// number writes a figure with at most one decimal.
func number(f float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(f, 'f', 1, 64), ".0")
}

// share writes a share of body weight as a percentage.
func share(f float64) string { return number(100*f) + "%" }

// shareOfWords writes a share of words in whole per cent, rounded down: 100% is all of them.
func shareOfWords(f float64) string { return strconv.Itoa(int(100*f)) + "%" }

// cell is a value of the chart row, as evidence.
func cell(r *chart.Row, field string) finding.Evidence {
	return finding.Evidence{Chart: &finding.ChartValue{From: r.From, Field: field, Value: r.Cell(field)}}
}

// superior is whom the author of the note has to tell.
func (p *pass) superior() string {
	switch p.entry.Note.Role {
	case lexicon.Nurse:
		return "the doctor or nurse practitioner"
	case lexicon.Doctor:
		return "the nurse in charge"
	}
	return "the nurse"
}
