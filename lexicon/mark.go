package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/match"
	"example.com/stance/lexicon/internal/people"
	"example.com/stance/lexicon/internal/token"
)

// mark turns hits and signs into one row of units in text order.
func (r *reader) mark() {
	r.units = r.units[:0]
	bare := false
	for i := 0; i < len(r.toks); {
		if i == 0 || r.toks[i-1].Kind == token.Newline {
			bare = r.bareLine(i)
		}
		if bare && r.unsaidComma(i) {
			r.units = append(r.units, unit{from: i, to: i, sign: ','})
		}
		hit, ok := r.hitAt(i)
		group, grouped := r.helperGroup(i)
		if g, more := r.helperGroup(i + 1); more && !grouped && r.is(i, joinsNames) && ok && r.kindOf(hit) == kindStaff && hit.To < g.To {
			ok = false // "and me and the other aide" joins a clause
		}
		phrase, isPhrase := r.phraseAt(i)
		switch {
		case !ok || hit.To == i+1 && r.kindOf(hit) == kindSubject:
			if r.is(i, self) && r.endsThere(i+1) && r.afterMeans(i) && !r.is(i, writerNamed) {
				r.units = append(r.units, unit{from: i, to: i + 1, kind: kindStaff, e: r.lex.find("staff.zero")}) // "with her rollator herself"
				i++
				continue
			}
		}
		switch {
		case grouped && (!ok || hit.To < group.To || hit.To == group.To && (r.kindOf(hit) != kindStaff || helpersOf(group.Kinds) != nil)):
			r.units = append(r.units, unit{from: i, to: group.To, kind: kindStaff, e: r.lex.find(r.groupEntry(&group)), count: int8(group.Staff), helpers: group.Kinds})
			i = group.To
		case isPhrase && (!ok || hit.To <= phrase.to && (phrase.kind != kindVerb || !r.tellsMove(hit))):
			i = r.place(phrase)
		case r.numbersItem(i):
			r.units = append(r.units, unit{from: i, to: i + 2, sign: '.'})
			i += 2
		case r.word(i) == "?" && r.signAt(i) == '.':
			r.units = append(r.units, unit{from: i, to: i + 1, sign: '.'}) // a question, not a query before a word
			i++
		case ok:
			i = r.markHit(hit)
		default:
			if sign := r.signAt(i); sign != 0 {
				r.units = append(r.units, unit{from: i, to: i + 1, sign: sign})
			}
			i++
		}
	}
}

// bareLine reports whether no sign that ends or parts sentences stands in the line that begins at token i.
func (r *reader) bareLine(i int) bool {
	for ; i < len(r.toks) && r.toks[i].Kind != token.Newline; i++ {
		if r.pauses(i) {
			return false
		}
	}
	return true
}

// unsaidComma reports whether a subject and its verb begin at token i in a line that has no signs, so that a comma would
// stand before them: "… on the left leg she wants a window seat tomorrow".
func (r *reader) unsaidComma(i int) bool {
	if len(r.units) == 0 || !r.subjectActs(i) || r.roles[i-1].Role == people.Joint || r.opensClause(i-1) {
		return false
	}
	if last := &r.units[len(r.units)-1]; last.sign != 0 || last.to == i && !mayEndClause(last.kind) || r.anyBetween(max(0, i-longestOccasion), i, when) {
		return false // "when she stood up from the chair she felt faint" is one story
	}
	w := r.english(i - 1)
	return !r.is(i-1, preposition) && (w.isNoun || w.adjective || w.form == english.Past || r.is(i-1, self))
}

// subjectActs reports whether a subject at token i, "she" or "his wife", has its verb right behind it.
func (r *reader) subjectActs(i int) bool {
	verb := i + 1
	switch {
	case r.is(i, owner) && r.kin(i+1):
		verb++
	case !r.is(i, thirdPerson) && !r.is(i, firstPerson):
		return false
	}
	w := r.english(verb)
	return w.verb || w.form != english.Bare || r.is(verb, beWord) || r.is(verb, perfect)
}

// mayEndClause reports whether a unit of the kind may be the last of a clause.
func mayEndClause(k kind) bool {
	switch k {
	case kindPlace, kindAid, kindLimb, kindCare, kindStaff, kindSide, kindSign, kindDistance, kindLevel:
		return true
	}
	return false
}

// phraseAt makes a unit of the words at token i that tell by how they stand together what no wording lists. Each
// sort of phrase begins with, or turns about, a word of a class.
func (r *reader) phraseAt(i int) (unit, bool) {
	for _, p := range r.lex.phrases {
		if r.is(i, p.head) {
			if u, ok := p.read(r, i); ok {
				return u, true
			}
		}
	}
	return unit{}, false
}

// place makes the phrase a unit in place of those whose words it takes in, and gives the token to go on from.
func (r *reader) place(phrase unit) int {
	n := len(r.units)
	for n > 0 && r.units[n-1].from >= phrase.from {
		n--
	}
	if n > 0 {
		phrase.from = max(phrase.from, r.units[n-1].to)
	}
	r.units = append(r.units[:n], phrase)
	return phrase.to
}

// phraseSort is a sort of phrase: the class of its head word, and how it is read there.
type phraseSort struct {
	head class
	read func(*reader, int) (unit, bool)
}

func phraseSorts() []phraseSort {
	return []phraseSort{
		{opensDown, (*reader).downAt},
		{headNoun, (*reader).headAt},
		{raisesWord, (*reader).raisedAt},
		{risesSelf, (*reader).raisedAt},
		{receives, (*reader).tellingAt},
		{messageNoun, (*reader).tellingAt},
		{passesOn, (*reader).tellingAt},
		{keptState, keptAway((*reader).stateEnd)},
		{keptPause, keptAway((*reader).pauseEnd)},
		{keptBusy, keptAway((*reader).busyEnd)},
		{keptBy, keptAway((*reader).elsewhereEnd)},
		{turnsUp, keptAway((*reader).noShowEnd)},
		{goesOff, keptAway((*reader).goneEnd)},
	}
}

// markHit makes a unit of a wording, unless its words mean something else here, and gives the token to go on from.
func (r *reader) markHit(hit match.Hit) int {
	s := &r.lex.said[hit.Payload]
	e := s.e
	switch {
	case e.kind == kindPast && e.name == "year" && !r.yearGone(hit.To-1):
		return hit.From + 1 // "in 2 minutes"
	case e.kind == kindClock && e.name == "spoken" && !r.spokenClock(hit):
		return hit.From + 1
	case e.kind == kindIgnore && r.onThe(hit.From):
		// "NWB on the right after a fracture" names the side
		r.units = append(r.units, unit{from: hit.From, to: hit.From + 1, kind: kindSide, e: r.lex.find("side." + r.word(hit.From))})
		return hit.From + 1
	case e.kind == kindStaff && r.toks[hit.From].Num >= 20 && hit.To-hit.From == 2:
		if h, ok := r.lex.matcher.At(r.in[:hit.From+1], hit.From); ok {
			return r.markHit(h) // "0150 a bit unsteady" is a time of day
		}
		return hit.From + 1
	case e.kind == kindPlanned && hit.To-hit.From == 2 && r.word(hit.From) == "to" && len(r.units) > 0 && r.units[len(r.units)-1].kind == kindStaff && r.units[len(r.units)-1].to == hit.From:
		return hit.To - 1 // "two staff to get him out of the chair"
	case e.kind == kindPlace && r.numbersPlace(hit.To):
		return hit.To // "moved to bed B" is another room
	case r.lastOpensOther(hit, e), r.namesVital(hit, e):
		return hit.To - 1
	case e.kind == kindFiller && e.name == "takeback":
		return r.takeBack(hit)
	case e.kind == kindFiller:
		return r.passOver(hit.To)
	case e.kind == kindFall && e.name == "assessed" && r.toldToo(hit):
		for end := hit.To - 1; end > hit.From; end-- {
			if who, ok := r.lex.matcher.At(r.in[:end], hit.From); ok && r.kindOf(who) == kindPerson {
				return r.markHit(who)
			}
		}
	}
	r.units = append(r.units, unit{from: hit.From, to: hit.To, kind: e.kind, e: e, form: s.form})
	return hit.To
}

// numbersPlace reports whether a letter or a number at token i, which belongs to no wording, tells which bed or room it is.
func (r *reader) numbersPlace(i int) bool {
	if i >= len(r.toks) {
		return false
	}
	t := &r.toks[i]
	letter := t.Kind == token.Word && t.Upper && t.End-t.Start == 1
	if h, hit := r.hitAt(i); !letter || t.Word == "i" || t.Word == "x" || hit && (h.To > i+1 || r.kindOf(h) == kindStaff || r.kindOf(h) == kindLevel) {
		return false
	}
	return !r.endsThere(i) && !t.Glued
}

// lastOpensOther reports whether the last word of the wording rather opens a longer one behind it.
func (r *reader) lastOpensOther(hit match.Hit, e *entry) bool {
	words := hit.To - hit.From
	switch {
	case e.kind == kindNegPre && words == 2, e.kind == kindLimb && words > 1, e.kind == kindClock && words == 2:
	case e.kind == kindStaff && (e.name == "plain" || e.name == "of"):
	default:
		return false
	}
	next, ok := r.lex.matcher.At(r.in, hit.To-1)
	if !ok || next.To <= hit.To {
		return false
	}
	switch e.kind {
	case kindNegPre:
		return r.kindOf(next) == kindFaultWord // "is not holding" is a fault, not a denied one
	case kindLimb:
		return r.kindOf(next) == kindSign // "R knee gave way" is a sign, with a side before it
	case kindClock:
		return r.kindOf(next) == kindVitalPair // "at 130/85" is no time
	}
	return true // "with 4WW" and "with two canes" count wheels and aids, not helpers
}

// toldToo reports whether an examination by somebody also tells that they were told: "called the RN who checked
// her over", "RN called and examined him".
func (r *reader) toldToo(hit match.Hit) bool {
	if n := len(r.units); n > 0 && r.units[n-1].kind == kindTold {
		return true
	}
	for k := hit.From + 1; k < hit.To; k++ {
		if h, ok := r.lex.matcher.At(r.in[:hit.To], k); ok && r.kindOf(h) == kindTold {
			return true
		}
	}
	return false
}

// namesVital reports whether the word behind a number is the name of the vital sign that follows: "T 36.8 P 82"
// and "T: 36.8 HR: 82" tell neither helpers nor a time of day.
func (r *reader) namesVital(hit match.Hit, e *entry) bool {
	if e.kind != kindStaff && e.kind != kindClock || hit.To-hit.From != 2 {
		return false
	}
	at := hit.To
	if w := r.word(at); w == ":" || w == "=" {
		at++
	}
	if at >= len(r.toks) || r.toks[at].Kind != token.Number || r.toks[at].Num < 25 {
		return false
	}
	next, ok := r.lex.matcher.At(r.in, hit.To-1)
	return ok && r.kindOf(next) == kindVitalName
}

func (r *reader) kindOf(h match.Hit) kind { return r.lex.said[h.Payload].e.kind }

// yearGone reports whether token i is a year in four digits, or in two behind an apostrophe.
func (r *reader) yearGone(i int) bool {
	t := &r.toks[i]
	if t.Kind != token.Number {
		return false
	}
	short := len(t.Word) == 2 && (strings.HasSuffix(r.text[:t.Start], "'") || strings.HasSuffix(r.text[:t.Start], "’"))
	return short || len(t.Word) == 4 && t.Num >= 1930 && t.Num < 2100
}

// spokenClock reports whether the two numbers of "at two fifteen" are words that make a time of day.
func (r *reader) spokenClock(h match.Hit) bool {
	var n [2]*token.Token
	for k, at := h.From, 0; k < h.To && at < len(n); k++ {
		if r.toks[k].IsNum {
			n[at] = &r.toks[k]
			at++
		}
	}
	hour, minute := n[0], n[1]
	return hour != nil && minute != nil && hour.Kind == token.Word && hour.Num >= 1 && hour.Num <= 12 && minute.Num >= 10 && minute.Num < 60
}

// onThe reports whether token i is a side after "on the".
func (r *reader) onThe(i int) bool {
	return (r.word(i) == "left" || r.word(i) == "right") && r.word(i-1) == "the" && (r.word(i-2) == "on" || r.word(i-2) == "through")
}

// passOver takes out the comma before a hesitation that ends at token i, and gives the token to go on
// from, past a comma behind it: "did not, you know, walk" is one clause.
func (r *reader) passOver(i int) int {
	if !r.punctuated {
		// who dictates with no signs says "um" where others put one
		r.units = append(r.units, unit{from: i - 1, to: i, sign: ','})
		return i
	}
	if n := len(r.units); n > 0 && r.units[n-1].sign == ',' {
		r.units = r.units[:n-1]
	}
	if r.word(i) == "," {
		i++
	}
	return i
}

// longestOccasion is how many words may tell on what occasion something was, before they say what.
const longestOccasion = 9

// longestTakenBack is how many words may have been said between what is taken back and that.
const longestTakenBack = 8

// takeBack takes out what the words of the hit take back, and gives the token to go on from: all that was said since the
// word that is said once more behind them ("with his stick no sorry with his frame"), or what is of the same sort as
// that behind them ("two no sorry three carers").
func (r *reader) takeBack(hit match.Hit) int {
	at := hit.To
	for r.word(at) == "," || r.word(at) == "-" {
		at++
	}
	n := len(r.units)
	for k := hit.From - 1; k >= 0 && k >= hit.From-longestTakenBack && r.word(k) != "." && r.word(k) != "\n"; k-- {
		if r.word(k) != r.word(at) || r.toks[k].Kind != token.Word {
			continue
		}
		for n > 0 && r.units[n-1].from >= k {
			n--
		}
		r.units = r.units[:n]
		return at
	}
	for n > 0 && r.units[n-1].sign != 0 {
		n--
	}
	for k := at; k < at+2; k++ {
		if h, ok := r.hitAt(k); ok && n > 0 && r.kindOf(h) == r.units[n-1].kind {
			r.units = r.units[:n-1]
			return at
		}
	}
	return at
}

// hitAt is the longest wording that begins at token i, which may lie behind the last.
func (r *reader) hitAt(i int) (match.Hit, bool) {
	if i >= len(r.in) || !r.lex.matcher.Opens(&r.in[i]) {
		return match.Hit{}, false
	}
	return r.lex.matcher.At(r.in, i)
}

// signAt classes the sign or line end at token i, 0 for one without meaning.
func (r *reader) signAt(i int) byte {
	t := &r.toks[i]
	if t.Kind == token.Newline {
		return '.'
	}
	if t.Kind != token.Sign {
		return 0
	}
	switch t.Word {
	case ".", "!":
		if r.is(i-1, title) {
			return 0 // "Dr. Roy"
		}
		if t.Word == "." && i+1 < len(r.toks) && r.toks[i+1].Kind == token.Word && !r.toks[i+1].Capital && r.is(i-1, shortened) {
			return 0
		}
		// "w/ walker.then" ends a sentence too; a decimal never reaches here.
		return '.'
	case "?":
		// A query mark stands before what it doubts; a question mark closes a sentence.
		if i+1 < len(r.toks) && r.toks[i+1].Kind != token.Newline && (!t.Glued || r.toks[i+1].Glued) {
			return '?'
		}
		return '.'
	case "|":
		if r.cellOfRow(i) {
			return ','
		}
		return '.'
	case "/":
		if !t.Glued && i+1 < len(r.toks) && !r.toks[i+1].Glued {
			return ',' // "PWB 50% / CGA x1 / FWW"
		}
		return 0
	case ",", ";", ":", "(", ")", "-":
		return t.Word[0]
	case "…":
		return ','
	}
	return 0
}

// cellOfRow reports whether the bar at token i parts the cells of one row of a table, not items that each
// have a heading of their own ("XFER: A2 | WALK: nil").
func (r *reader) cellOfRow(i int) bool {
	for k := i - 1; k >= 0 && r.toks[k].Kind != token.Newline; k-- {
		if r.word(k) == ":" {
			return false
		}
	}
	for k := i + 1; k < len(r.toks) && r.toks[k].Kind != token.Newline; k++ {
		if r.word(k) == ":" {
			return false
		}
	}
	return true
}

// numbersItem reports whether token i is the number of a list item, as in "2) Falls: none".
func (r *reader) numbersItem(i int) bool {
	t := &r.toks[i]
	return t.Kind == token.Number && t.Num < 20 && !t.Glued && r.word(i+1) == ")" && r.toks[i+1].Glued && r.word(i-1) != "("
}

// tellsMove reports whether the wording tells a move by itself, other than standing.
func (r *reader) tellsMove(h match.Hit) bool {
	e := r.lex.said[h.Payload].e
	return e.kind == kindVerb && !e.fields.weak && e.fields.concept != "move.stand"
}
