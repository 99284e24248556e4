package lexicon

import (
	"slices"
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// After a fall whatever is told of the head counts: that it was struck ("clipped her head on the drawers"), that
// something is to be seen on it ("an egg on her forehead"), or that it was looked at or left out ("scalp checked",
// "nothing knocked, not her head").

// headAt makes a unit of the words about the head that stand at token i, and those before it that no unit has.
func (r *reader) headAt(i int) (unit, bool) {
	h, ok := r.hitAt(i)
	if ok && h.To > i+1 || r.toks[i].Capital && r.is(i+1, title) {
		return unit{}, false // "head of bed", "head spinning"
	}
	u := unit{from: i, to: i + 1, kind: kindFall, e: r.lex.find("fall.head")}
	switch blow := r.blowBefore(i); {
	case blow >= 0:
		u.from = blow
	case r.blowBehind(i) > 0:
		for u.to = r.blowBehind(i); r.is(u.to, blowWord); u.to++ {
		}
		if r.is(u.to, noneFound) {
			u.e = r.lex.find("fall.head-sound") // "head touched nothing"
		}
	case r.markBefore(i):
		u.e = r.lex.find("fall.head-marked")
	case r.soundBeside(i):
		u.e = r.lex.find("fall.head-sound")
	default:
		return unit{}, false
	}
	return u, true
}

// blowBehind is the token behind the first word that strikes the head at token i, 0 for none: "head bumped", "head was
// hit", "head never touched".
func (r *reader) blowBehind(i int) int {
	k := i + 1
	if r.is(k, beWord) || r.is(k, neverWord) {
		k++
	}
	if r.is(k, blowWord) {
		return k + 1
	}
	return 0
}

// blowBefore is the verb that strikes the head at token i, -1 for none.
func (r *reader) blowBefore(i int) int {
	on := false
	for k := i - 1; k >= 0 && k >= i-6; k-- {
		on = on || r.word(k) == "on"
		switch {
		case r.is(k, blowWord) && on && r.is(k, markNoun):
			return -1 // "bump on forehead"
		case r.is(k, blowWord):
			return k
		case r.is(k, owner), r.is(k, article), r.is(k, partOf), r.is(k, bodySide), r.english(k).adjective:
		default:
			return -1
		}
	}
	return -1
}

// markBefore reports whether a mark or pain on the head at token i is told before it: "a bump on the back of his head".
func (r *reader) markBefore(i int) bool {
	for k := i - 1; k > 0 && k >= i-6; k-- {
		switch {
		case r.is(k, onPart):
			for n := k - 1; n >= 0 && n >= k-4 && !r.pauses(n); n-- {
				if r.is(n, markNoun) {
					return true
				}
			}
			return false
		case r.is(k, markNoun):
			return true // "goose egg left temple"
		case r.is(k, owner), r.is(k, article), r.is(k, partOf), r.is(k, bodySide), r.is(k, sideWord):
		default:
			return false
		}
	}
	return false
}

// soundBeside reports whether the head at token i is told to have been looked at, found well or left out.
func (r *reader) soundBeside(i int) bool {
	for k := i - 1; k >= 0 && k >= i-6 && !r.pauses(k); k-- {
		if r.is(k, looksAt) || r.word(k) == "not" && r.is(k+1, owner) && k+2 == i {
			return true
		}
	}
	for k := i + 1; k < len(r.toks) && k <= i+4 && (r.toks[k].Kind == token.Word || r.word(k) == ":"); k++ {
		if r.is(k, soundWord) {
			return true
		}
		if r.is(k, when) || r.word(k) == "and" {
			return false
		}
	}
	return false
}

// looksBroken is the token behind the words that tell that the limb named at token i looks broken, 0 where they do not:
// "the foot of him turned clean out to the side", "leg is a good inch shorter than the other".
func (r *reader) looksBroken(i int) int {
	end, turned, lies := 0, false, false
	for k := i + 1; k < i+14 && k < len(r.toks); k++ {
		switch {
		case r.is(k, misshapen):
			end = k + 1
		case r.is(k, crookedly) && (turned || lies), r.is(k, outwards) && turned:
			end = k + 1
		case r.is(k, turnsLimb):
			turned = true
		case r.is(k, lieWord), r.is(k, limbLies):
			lies = true
		case !r.amongLooks(k):
			return end
		}
	}
	return end
}

// amongLooks reports whether token i may stand between a limb and how it looks.
func (r *reader) amongLooks(i int) bool {
	return r.is(i, beWord) || r.is(i, still) || r.is(i, justThere) || r.is(i, wayBack) || r.is(i, sideWord) || r.is(i, partOf) || r.is(i, article) ||
		r.is(i, object) || r.is(i, limbNoun) || r.toks[i].IsNum || r.is(i, amongLooks) || strings.HasSuffix(r.word(i), "ly")
}

// dropImplied takes out what only implies that the head was struck or not, or that nothing was hurt, where the note
// says so outright.
func (r *reader) dropImplied(concept string, terms ...string) {
	implied := func(s *Statement) bool {
		return slices.ContainsFunc(s.Detail.Terms, func(m Mark) bool { return slices.Contains(terms, m.Term) })
	}
	outright := slices.ContainsFunc(r.out.Statements, func(s Statement) bool { return s.Concept == concept && !implied(&s) })
	if outright {
		r.out.Statements = slices.DeleteFunc(r.out.Statements, func(s Statement) bool { return s.Concept == concept && implied(&s) })
	}
}
