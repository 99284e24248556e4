package lexicon

import (
	"cmp"
	"slices"
	"sort"
	"strconv"
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// Some things are told in words that no list holds: what somebody was doing when they fell, that a nurse looked at them.
// Where the grammar has read no such thing and the note calls for it, each stretch of words is described by its traits,
// and the judge weighs them.

// A question is what may be asked of the stretches of a note.
type question struct {
	name    string // of the decision
	concept string
	calls   string                // what the note tells of if it is asked at all
	takes   bool                  // the words that answer tell no moves and aids besides
	hand    bool                  // it is for some roles to do, so that who writes bears on it
	behind  bool                  // only what is told in the sentence of that, or behind it, answers
	sure    int                   // the score from which a reading is certain
	least   int                   // and below which none is made
	about   func(*Statement) bool // accepts what calls for it
	settles func(*Statement) bool // accepts what leaves nothing open
}

// questions are asked in this order.
func questions() []question {
	return []question{
		{
			name: "cause", concept: "fall.cause", calls: "a fall", takes: true, sure: 100, least: 60,
			about: func(s *Statement) bool { return s.IsFall() && s.Done() },
			settles: func(s *Statement) bool {
				switch s.Concept {
				case "fall.cause", "aid.fault", "fall.near":
					return s.Polarity == Affirmed
				case "wheel.brakes":
					return s.Polarity == Negated
				}
				return (s.Group() == "hazard" || s.Group() == "sign") && s.Polarity == Affirmed && s.Time == Now
			},
		},
		{
			name: "assessed", concept: "fall.assessed", calls: "a fall", hand: true, behind: true, sure: 100, least: 60,
			about:   func(s *Statement) bool { return s.IsFall() && s.Done() },
			settles: func(s *Statement) bool { return s.Concept == "fall.assessed" },
		},
	}
}

// judged answers what the grammar left open.
func (r *reader) judged() {
	for _, q := range r.lex.questions {
		if !r.any(q.about) || r.asked == nil && r.any(q.settles) {
			continue
		}
		c := r.circumstances(&q)
		if len(c.about) == 0 {
			continue // told by a joining word alone
		}
		if r.asked != nil {
			for k := range c.runs {
				*r.asked = append(*r.asked, answerable{q.name, r.span(c.runs[k].from, c.runs[k].to), c.traits(k)})
			}
			continue
		}
		c.answer()
	}
}

// any reports whether the note has a statement that pick accepts.
func (r *reader) any(pick func(*Statement) bool) bool {
	return slices.ContainsFunc(r.out.Statements, func(s Statement) bool { return pick(&s) })
}

// An answerable is a stretch of which something may be asked, and its traits.
type answerable struct {
	question string
	span     Span
	traits   []string
}

// circumstances are what the traits of a stretch are taken from.
type circumstances struct {
	*reader
	q     *question
	runs  []stretch
	does  []doing    // by stretch: who does what in it
	tells [][]string // by stretch: the concepts that its words tell
	about []int      // the stretches that tell what the question is about
}

func (r *reader) circumstances(q *question) *circumstances {
	c := &circumstances{reader: r, q: q, runs: r.stretches()}
	c.does, c.tells = make([]doing, len(c.runs)), make([][]string, len(c.runs))
	for k := range c.runs {
		c.does[k] = c.doing(&c.runs[k])
		at := r.span(c.runs[k].from, c.runs[k].to)
		for n := range r.out.Statements {
			s := &r.out.Statements[n]
			if !s.Span.Overlaps(at) || s.Concept == q.concept {
				continue
			}
			c.tells[k] = append(c.tells[k], s.Concept)
			if q.about(s) && (len(c.about) == 0 || c.about[len(c.about)-1] != k) {
				c.about = append(c.about, k)
			}
		}
	}
	return c
}

// answer adds the statement that the likeliest stretch tells, if any is likely enough.
func (c *circumstances) answer() {
	scores := make([]int, len(c.runs))
	best := -1
	for k := range c.runs {
		scores[k] = c.lex.judge[c.q.name].Score(c.traits(k))
		if !c.tooEarly(k) && (best < 0 || scores[k] > scores[best]) {
			best = k
		}
	}
	if best < 0 || scores[best] < c.q.least {
		return
	}
	// "she had a good look at him where he lay" is one answer
	const likeIt = 150
	lo, hi := best, best
	for lo > 0 && c.runsOn(lo) && scores[lo-1] >= scores[best]-likeIt {
		lo--
	}
	for hi+1 < len(c.runs) && c.runsOn(hi+1) && scores[hi+1] >= scores[best]-likeIt {
		hi++
	}
	from, to := c.runs[lo].from, c.runs[hi].to
	st := c.begin(c.q.concept)
	st.Polarity, st.Time, st.Who, st.Certainty, st.Mood = Affirmed, Now, Resident, Certain, Report
	if scores[best] < c.q.sure {
		st.Certainty = Possible
	}
	st.Detail.Head, st.Detail.Judged = c.span(from, to), c.inWords(best)
	if c.q.takes {
		c.out.Statements = slices.DeleteFunc(c.out.Statements, func(o Statement) bool {
			return o.Span.Overlaps(st.Detail.Head) && (o.Group() == "move" && !o.byStaff() || o.Group() == "aid" || o.Group() == "assist")
		})
	}
	c.add(st, from, to)
}

// tooEarly reports whether stretch k is told in a sentence before all that the question is about, so that it was on
// another occasion: "everybody checked at 1 and again at 3. She'd gone down by the closet".
func (c *circumstances) tooEarly(k int) bool {
	return c.q.behind && len(c.about) > 0 && k < c.about[0] && c.runs[k].sentence != c.runs[c.about[0]].sentence
}

// runsOn reports whether no more than a word parts stretch k from the one before.
func (c *circumstances) runsOn(k int) bool {
	s := &c.runs[k]
	return !s.goesOn && (c.runs[k-1].to == s.from || s.lead >= 0 && c.runs[k-1].to == s.lead)
}

// inWords tells people what the judge went by in stretch k.
func (c *circumstances) inWords(k int) string {
	d := &c.does[k]
	where := "not far from "
	if a := c.nearest(k); c.runs[a].sentence == c.runs[k].sentence {
		where = "in the sentence of "
	} else if max(k-a, a-k) == 1 {
		where = "next to "
	}
	who := map[string]string{"none": "nobody named", "pronoun": "he or she", "name": "somebody by name", "writer": "the writer",
		"body": "a part of the body", "other": "somebody else"}[d.by]
	out := where + c.q.calls + "; who: " + cmp.Or(who, d.by)
	if d.verb != "none" {
		form := map[string]string{"past": "did", "ing": "doing", "was ing": "was doing", "had past": "had done", "was past": "was done"}[d.form]
		out += "; " + cmp.Or(form, "does") + ": " + d.verb
	}
	return out
}

// traits are what the judge is told of stretch k.
func (c *circumstances) traits(k int) []string {
	s := &c.runs[k]
	d := &c.does[k]
	lead := "none"
	switch {
	case s.goesOn:
		lead = "goes on"
	case s.lead >= 0:
		lead = c.word(s.lead)
	case s.from == 0 || k == 0 || c.runs[k-1].sentence != s.sentence:
		lead = "start"
	case c.runs[k-1].to < s.from:
		lead = "sign"
	}
	near := c.distance(k)
	out := []string{
		"lead=" + lead, "by=" + d.by, "form=" + d.form, "does=" + d.sense, "near=" + near,
		"by=" + d.by + " form=" + d.form, "by=" + d.by + " does=" + d.sense, "lead=" + lead + " form=" + d.form,
		"near=" + near + " form=" + d.form, "near=" + near + " by=" + d.by, "near=" + near + " lead=" + lead,
		"verb=" + d.verb, "by=" + d.by + " verb=" + d.verb,
	}
	if c.q.hand { // an examination is told by who made it
		out = append(out, "writer="+string(c.role)+" by="+d.by+" form="+d.form, "writer="+string(c.role)+" verb="+d.verb)
	}
	out = append(out, d.words...)
	out = append(out, c.scopes(s)...)
	for _, t := range c.tells[k] {
		out = append(out, "tells="+t)
	}
	if len(c.tells[k]) == 0 {
		out = append(out, "tells=nothing")
	}
	if k > 0 {
		for _, t := range c.tells[k-1] {
			out = append(out, "before="+t)
		}
		if b := &c.runs[k-1]; b.sentence == s.sentence {
			v := c.does[k-1].verb
			out = append(out, "before verb="+v, "before verb="+v+" by="+d.by)
		}
	}
	if k+1 < len(c.runs) && c.runs[k+1].goesOn {
		out = append(out, "leads into what is behind", "leads into what is behind by="+d.by, "leads into what is behind form="+d.form)
	}
	if k+1 < len(c.runs) {
		for _, t := range c.tells[k+1] {
			out = append(out, "behind="+t)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// scopes are traits of what the words of the stretch say of its being so: that it was not, or is to be.
func (c *circumstances) scopes(s *stretch) []string {
	var out []string
	at := sort.Search(len(c.units), func(i int) bool { return c.units[i].from >= s.from })
	for ; at < len(c.units) && c.units[at].from < s.to; at++ {
		switch c.units[at].kind {
		case kindNegPre, kindNegPost:
			out = append(out, "denied")
		case kindPlanned, kindIf, kindOrder:
			out = append(out, "to be")
		case kindPast:
			out = append(out, "before")
		case kindTold, kindPerson:
			out = append(out, "names "+c.units[at].e.name)
		}
	}
	return out
}

// nearest is the nearest stretch that tells what the question is about.
func (c *circumstances) nearest(k int) int {
	best := c.about[0]
	for _, a := range c.about {
		if max(k-a, a-k) < max(k-best, best-k) {
			best = a
		}
	}
	return best
}

// distance says how far before or behind the nearest stretch that tells what the question is about stretch k stands.
func (c *circumstances) distance(k int) string {
	best := k - c.nearest(k)
	here := ""
	if c.runs[k].sentence == c.runs[k-best].sentence {
		here = " in its sentence"
	}
	switch {
	case best == 0:
		return "itself"
	case best < -3:
		return "far before" + here
	case best > 3:
		return "far behind" + here
	}
	return strconv.Itoa(best) + here
}

// A doing is who does what in a stretch.
type doing struct {
	by    string // sort of subject
	verb  string // its stem
	sense string
	form  string
	words []string
}

// doing tells who does what in the stretch.
func (c *circumstances) doing(s *stretch) doing {
	d := doing{by: "none", verb: "none", sense: "none", form: "none"}
	aux := ""
	for i := s.from; i < s.to; i++ {
		if c.toks[i].Kind != token.Word {
			if c.toks[i].Kind == token.Number {
				d.words = append(d.words, "word=1")
			}
			continue
		}
		w := c.english(i)
		name := c.wordTrait(i)
		d.words = append(d.words, "word="+name)
		if w.noun != 0 && w.form != english.Past && w.form != english.Gerund {
			d.words = append(d.words, "noun="+strconv.Itoa(int(w.noun)))
		}
		if d.verb != "none" {
			continue
		}
		switch {
		case c.is(i, beWord), c.is(i, perfect), c.is(i, modal), c.word(i) == "did", c.word(i) == "not", c.word(i) == "never":
			if c.word(i) != "'s" || d.by == "pronoun" {
				aux = auxiliary(c.word(i), aux)
			}
		case c.isVerb(i, s, aux):
			d.verb, d.sense, d.form = w.stem, strconv.Itoa(int(w.does)), aux+formName(w.form)
			if next := i + 1; next < s.to && (c.is(next, preposition) || c.is(next, particle)) {
				d.words = append(d.words, "verb="+w.stem+" "+c.word(next))
			}
		case aux == "":
			if by := c.subjectTrait(i); by != "none" {
				d.by = by
			}
		}
	}
	if d.verb == "none" && aux != "" {
		d.verb, d.form = "be", aux
	}
	return d
}

func auxiliary(w, aux string) string {
	switch w {
	case "had", "has", "have", "'ve", "'d":
		return "had "
	case "was", "were", "is", "are", "be", "been", "being", "'s", "wis", "wus":
		return "was "
	case "to":
		return aux + "to "
	case "did":
		return aux
	case "not", "never":
		return "not "
	}
	return "may "
}

func formName(f english.Form) string {
	switch f {
	case english.Past:
		return "past"
	case english.Gerund:
		return "ing"
	case english.Third:
		return "s"
	}
	return "bare"
}

// isVerb reports whether token i is the verb of the stretch.
func (c *circumstances) isVerb(i int, s *stretch, aux string) bool {
	w := c.english(i)
	switch {
	case w.does == 0 || c.isName(i):
		return false
	case w.form == english.Past || w.form == english.Gerund:
		return true
	case w.form == english.Third:
		return i > s.from && (c.is(i-1, thirdPerson) || c.isName(i-1) || c.is(i-1, residentNoun))
	case !w.isNoun && !w.adjective:
		return !c.is(i, preposition)
	}
	return i > s.from && (c.is(i-1, thirdPerson) || c.is(i-1, firstPerson) || strings.HasSuffix(aux, "to ") || aux == "may ")
}

// subjectTrait is what sort of subject the word at token i is, "none" for none.
func (c *circumstances) subjectTrait(i int) string {
	switch {
	case c.is(i, thirdPerson):
		return "pronoun"
	case c.is(i, firstPerson), c.is(i, writerNamed):
		return "writer"
	case c.is(i, residentNoun):
		return "resident"
	case c.is(i, staffWord), c.is(i, staffSubject):
		return "staff"
	case c.isName(i):
		return "name"
	case c.kin(i):
		return "kin"
	}
	if h, ok := c.hitAt(i); ok && c.kindOf(h) == kindPerson {
		return c.lex.said[h.Payload].e.name
	}
	if w := c.english(i); w.isNoun && !c.is(i, preposition) {
		if w.noun == english.Person {
			return "person"
		}
		if w.noun == english.BodyPart {
			return "body"
		}
		return "thing"
	}
	return "none"
}

// wordTrait is the word at token i as a trait: a name is one like another.
func (c *circumstances) wordTrait(i int) string {
	if c.isName(i) {
		return "NAME"
	}
	if c.toks[i].IsNum {
		return "1"
	}
	if w := c.english(i); w.stem != "" {
		return w.stem
	}
	return c.word(i)
}
