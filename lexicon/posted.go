package lexicon

import (
	"cmp"
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/people"
)

// posted takes out of the moves what a card, a sheet or a board is said to say: it is no move that was done.
func (r *reader) posted() {
	for i := range r.toks {
		if !r.is(i, statesWay) || r.word(i) == "has" && !r.is(i+1, object) || !r.cardBefore(i) {
			continue
		}
		end := r.postedTo(i + 1)
		if r.word(end) == "so" && strings.HasPrefix(r.word(end+1), "that") {
			continue // "… so that's how we took him"
		}
		for k := range r.units {
			switch u := &r.units[k]; u.kind {
			case kindVerb, kindAid, kindStaff, kindLevel, kindPlace, kindTo, kindFrom, kindVague:
				if u.from > i && u.from < end {
					u.used = true
				}
			}
		}
	}
}

// cardBefore reports whether a card or sheet is the subject of the verb at token i.
func (r *reader) cardBefore(i int) bool {
	for k := i - 1; k >= 0 && k >= i-9 && !r.pauses(k); k-- {
		switch {
		case r.is(k, postedOn):
			return true
		case r.is(k, thirdPerson), r.is(k, firstPerson), r.is(k, residentNoun):
			return false
		}
	}
	return false
}

// postedTo is the token at which the words that stand on a card end, from token i on: the end of the sentence, or
// where it goes on with what somebody did.
func (r *reader) postedTo(i int) int {
	for k := i; k < len(r.toks); k++ {
		if g, ok := r.helperGroup(k); ok && r.roles[g.From].Role == people.Writer && r.startsTelling(g.To) {
			return k // "card says pivot with one person me and Grace did …"
		}
		switch w := r.word(k); {
		case w == "." || w == ";" || w == "\n" || w == "but" || w == "so" || w == "however":
			return k
		case w == "," || w == "and" || w == "-":
			if h, ok := r.hitAt(k + 1); r.is(k+1, firstPerson) || r.is(k+1, thirdPerson) || ok && r.lex.said[h.Payload].form == Past {
				return k
			}
		}
	}
	return len(r.toks)
}

// startsTelling reports whether what somebody did begins at token i.
func (r *reader) startsTelling(i int) bool {
	w := r.english(i)
	h, ok := r.hitAt(i)
	return w.form == english.Past || r.is(i, didWord) || ok && r.lex.said[h.Payload].form == Past
}

// posted reads a sign with the way to move that it states; one that states none is another sign.
func (t *themer) posted(k, i int) {
	s := &t.sents[k]
	st := t.start(k, i)
	u := &t.reader.units[i]
	if st.Polarity == Negated {
		if t.toBe(u.from) || !t.moveSign(u) {
			return
		}
		st.Who, st.Mood = Resident, Report
		st.Detail.Mended = t.mended(k, i)
		t.put(st, i)
		t.take(i)
		return
	}
	end := u.to
	found := false
	for j := i + 1; j < s.hi; j++ {
		n := &t.reader.units[j]
		if n.kind == kindTheme || n.kind == kindBreak && t.parts(j) == 2 || n.sign == ';' ||
			n.kind == kindStaff && !st.Staff.IsZero() && t.startsTelling(n.to) ||
			found && (t.parts(j) > 0 && !t.goesOnAt(s, j) || n.kind == kindSubject && !t.possessive(j)) {
			break
		}
		if t.postedField(&st, n) {
			found, end = true, n.to
		}
	}
	if u.to < len(t.toks) && st.Staff.IsZero() {
		if n := &t.toks[u.to]; n.IsNum && n.Num >= 1 && n.Num <= 4 {
			st.Staff, found, end = Some(int(n.Num)), true, max(end, u.to+1) // "card says 1 + frame"
		}
	}
	if !found {
		return
	}
	st.Polarity, st.Who, st.Mood, st.Certainty = Affirmed, Resident, Report, Certain
	if st.Time != Before {
		st.Time = Now
	}
	t.add(st, u.from, end)
	t.gone = append(t.gone, t.span(u.from, end))
}

// goesOnAt reports whether what the sign states goes on behind the comma at unit j.
func (t *themer) goesOnAt(s *sentence, j int) bool {
	if j+1 >= s.hi {
		return false
	}
	switch n := &t.reader.units[j+1]; n.kind {
	case kindStaff, kindLevel:
		return true
	case kindAid:
		return t.reader.units[j].to == n.from
	}
	return false
}

// moveSign reports whether a missing sign is one about moving, by its own words or those around it.
func (t *themer) moveSign(u *unit) bool {
	return t.anyBetween(u.from, min(u.to+4, len(t.toks)), signAbout)
}

// postedField gives the sign what unit n states.
func (t *themer) postedField(st *Statement, n *unit) bool {
	switch n.kind {
	case kindStaff:
		if c := t.count(*n); c >= 0 {
			st.Staff = Some(c)
			return true
		}
	case kindLevel:
		st.Assist = n.e.fields.assist
		if n.e.fields.hasStaff {
			st.Staff = Some(n.e.fields.staff)
		}
		return true
	case kindAid:
		switch name := n.e.name; {
		case isLift(name), name == "board":
			st.Method = name
		case name != "none":
			st.Aids = appendNew(st.Aids, name)
		}
		return true
	case kindVerb:
		if n.e.name == "lift" || n.e.name == "hoist" {
			st.Method = cmp.Or(st.Method, "lift")
			return true
		}
		if m := n.e.fields.method; m != "" {
			if st.Method == "" || st.Method == "lift" {
				st.Method = m
			}
			return true
		}
		if n.e.fields.hasStaff {
			st.Staff = Some(n.e.fields.staff)
			return true
		}
	}
	return false
}
