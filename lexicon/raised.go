package lexicon

import (
	"slices"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/token"
)

// What is told of getting somebody up, once a fall was told, need not name the floor: "helped her back up", "popped
// him into his chair", "got Doris on her feet", "up she went".

// raisedAt makes a unit of the words at token i that tell how somebody got up, or was got up, after a fall told before.
func (r *reader) raisedAt(i int) (unit, bool) {
	if r.word(i) == "to" {
		if !r.is(i-1, managed) && r.english(i-1).noun != english.Artefact {
			return unit{}, false
		}
		i++ // "managed to get him up", "used the hoist to get him up"
	}
	end := 0
	switch {
	case !r.is(i, raisesWord) && !r.is(i, risesSelf) || !r.stillDown():
	case r.is(i, risesSelf) && r.word(i+1) == "up":
		end = i + 2 // "scrambled up"
	case r.word(i) == "on":
		return r.backOnFeet(i + 2)
	case r.word(i) != "up":
		end = r.raisedEnd(i)
	case r.is(i+2, wentWord) && r.someone(i+1):
		end = i + 3 // "up she went"
	}
	if end == 0 {
		return unit{}, false
	}
	return unit{from: i, to: end, kind: kindVerb, e: r.lex.find("verb.raised"), form: Past}, true
}

// backOnFeet makes a unit of the words up to the feet at token i that tell that somebody was up again: "right back on her
// feet", "on his feet again".
func (r *reader) backOnFeet(i int) (unit, bool) {
	from, end := i-2, i+1
	if r.word(i) != "feet" || !r.is(i-1, owner) {
		return unit{}, false
	}
	again := r.word(end) == "again"
	for from > 0 && r.is(from-1, wayBack) {
		from--
		again = again || r.word(from) == "back" || r.word(from) == "up"
	}
	return unit{from: from, to: end, kind: kindVerb, e: r.lex.find("verb.raised"), form: Past}, again
}

// raisedEnd is the token behind the words by which the verb at token i raises somebody, 0 where it does not.
func (r *reader) raisedEnd(i int) int {
	k := i + 1
	for k < i+4 && (r.is(k, title) || r.is(k, owner) && !r.object(k) || r.is(k, self) || r.someone(k)) {
		k++
	}
	if k == i+1 {
		return 0
	}
	up := false
	for end := k + 5; k < end && r.is(k, wayBack); k++ {
		up = up || r.word(k) == "up"
	}
	if !up && !r.leadsToSeat(k) {
		return 0
	}
	if r.onFeet(k) {
		k += 3
	}
	return k
}

// leadsToSeat reports whether the words from token k lead to a bed or a seat, or to somebody's feet.
func (r *reader) leadsToSeat(k int) bool {
	if !r.is(k, ontoSeat) {
		return false
	}
	if r.onFeet(k) {
		return true
	}
	for n := k + 1; n < k+4 && n < len(r.toks) && r.toks[n].Kind == token.Word; n++ {
		if h, ok := r.hitAt(n); ok && (r.kindOf(h) == kindPlace && r.lex.said[h.Payload].e.fields.place != "floor" || r.kindOf(h) == kindAid && r.lex.said[h.Payload].e.name == "wheelchair") {
			return true
		}
	}
	return false
}

// onFeet reports whether the words from token k are "on her feet".
func (r *reader) onFeet(k int) bool {
	return r.is(k, ontoSeat) && r.is(k+1, owner) && r.word(k+2) == "feet"
}

// stillDown reports whether the note so far tells of a fall, and of nothing that got the resident up since.
func (r *reader) stillDown() bool {
	for k := len(r.units) - 1; k >= 0; k-- {
		switch u := &r.units[k]; u.kind {
		case kindOffFloor:
			return false
		case kindVerb:
			if !u.e.fields.weak && (u.e.fields.concept == "move.up" || u.e.fields.concept == "move.lift" || u.e.fields.concept == "move.transfer") {
				return false
			}
		case kindFall:
			switch u.e.name {
			case "fell", "found", "eased", "collapse":
				return k == 0 || r.units[k-1].kind != kindNegPre
			}
		}
	}
	return false
}

// dropRaised takes out what reads as getting up only where a fall was told to have happened, and none was.
func (r *reader) dropRaised() {
	r.out.Statements = slices.DeleteFunc(r.out.Statements, func(s Statement) bool {
		return s.Concept != "fall.moved" && s.raised()
	})
}

// raised reports whether the words of getting somebody up after a fall carry the statement.
func (s *Statement) raised() bool {
	return slices.ContainsFunc(s.Detail.Terms, func(m Mark) bool { return m.Term == "verb.raised" })
}
