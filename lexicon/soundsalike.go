package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// Small words that sound alike are confused in dictation and in haste: "too the toilet", "with to staff", "walk her",
// "let the nurse no". Which of them is meant is told by the sort of word that stands beside it.

// soundAlikes reads such words as those that are meant.
func (r *reader) soundAlikes() {
	for i := range r.toks {
		if r.toks[i].Kind != token.Word {
			continue
		}
		switch {
		case r.is(i, soundsLikeTo):
			r.toOrTwo(i)
		case r.word(i) == "o" && i > 0 && (r.is(i+1, otherObject) || r.opensNoun(i+1)):
			r.hearAs(i, "of") // "three o us"
		case r.is(i, soundsLikeBy) && r.opensNoun(i+1) && !r.verbMayStand(i):
			r.hearAs(i, "by")
		case r.is(i, soundsLikeKnow) && r.letsKnow(i):
			r.hearAs(i, "know")
		case r.is(i, soundsLikeRight) && r.sideMayStand(i):
			r.hearAs(i, "right")
		case r.word(i) == "weak" && (r.word(i-1) == "next" || r.word(i-1) == "last" || r.word(i-1) == "this"):
			r.hearAs(i, "week")
		case r.word(i) == "week" && (r.is(i-1, went) || r.is(i-1, feels)):
			r.hearAs(i, "weak")
		}
	}
}

// toOrTwo reads "too" as a number or as what leads somewhere, and "to" and "two" as each other.
func (r *reader) toOrTwo(i int) {
	switch w := r.word(i); {
	case w != "two" && (r.countedAt(i+1, w == "to") || r.countsAlone(i, w)):
		r.hearAs(i, "two")
		r.toks[i].Num, r.toks[i].IsNum, r.toks[i].Said, r.in[i].IsNum, r.themeIn[i].IsNum = 2, true, true, true, true
	case w == "to", w == "two" && (r.countedAt(i+1, false) || r.is(i+1, staffWord)):
	case (r.opensNoun(i+1) && w == "two" || r.goes(i-1) && r.reaches(i+1)) && !r.word2(i-1, "or", "and"):
		r.hearAs(i, "to")
		r.toks[i].IsNum, r.in[i].IsNum, r.themeIn[i].IsNum = false, false, false
	}
}

// word2 reports whether token i is one of two words.
func (r *reader) word2(i int, a, b string) bool { return r.word(i) == a || r.word(i) == b }

// countedAt reports whether the word at token i can be counted: "of us", "minutes", and behind "to", which leads to
// such words as well, only "of us" and staff who help.
func (r *reader) countedAt(i int, strict bool) bool {
	if r.word(i) == "of" {
		return r.object(i+1) || r.is(i+1, otherObject)
	}
	if strict || i >= len(r.toks) {
		return strict && r.is(i, staffWord) && strings.HasSuffix(r.word(i), "s") && r.is(i-2, byMeans)
	}
	w := r.english(i)
	return w.isNoun && strings.HasSuffix(r.word(i), "s") && !strings.HasSuffix(r.word(i), "ss") && !r.is(i, thirdPerson)
}

// countsAlone reports whether the word at token i stands for helpers by itself: "transferred with too and the belt".
func (r *reader) countsAlone(i int, w string) bool {
	if !r.is(i-1, byMeans) && !r.is(i-1, needs) {
		return false
	}
	return r.endsThere(i+1) || r.is(i+1, joinsNames) && r.opensNoun(i+2) || r.is(i+1, joinsNames) && r.aidAt(i+2) || w == "too" && r.is(i+1, purpose)
}

// aidAt reports whether the words of an aid begin at token i.
func (r *reader) aidAt(i int) bool {
	h, ok := r.hitAt(i)
	return ok && r.kindOf(h) == kindAid
}

// goes reports whether the word at token i goes on to where somebody goes: a verb of moving, "down", "him".
func (r *reader) goes(i int) bool {
	if r.is(i, onward) || r.is(i, particle) || r.object(i) || r.isName(i) {
		return true
	}
	for k := i; k >= 0 && k > i-3; k-- {
		if h, ok := r.hitAt(k); ok && h.To == i+1 {
			return r.kindOf(h) == kindVerb || r.kindOf(h) == kindPlace || r.kindOf(h) == kindAid
		}
	}
	return false
}

// reaches reports whether the words at token i name where somebody goes or what for: "the toilet", "tea".
func (r *reader) reaches(i int) bool {
	for r.opensNoun(i) {
		i++
	}
	if h, ok := r.hitAt(i); ok && (r.kindOf(h) == kindPlace || r.kindOf(h) == kindCare) {
		return true
	}
	w := r.english(i)
	return w.isNoun && !w.adjective && !r.is(i, thirdPerson)
}

// verbMayStand reports whether the word at token i may be a verb: somebody or "to" stands before it.
func (r *reader) verbMayStand(i int) bool {
	return r.word(i-1) == "to" || r.is(i-1, modal) || r.is(i-1, thirdPerson) || r.is(i-1, firstPerson) || r.isName(i-1) || i == 0
}

// letsKnow reports whether the word at token i ends what somebody was let know: "let the office no about it".
func (r *reader) letsKnow(i int) bool {
	for k := i - 1; k >= 0 && k >= i-6 && r.toks[k].Kind == token.Word; k-- {
		if r.is(k, lets) {
			return k < i-1
		}
	}
	return r.word(i-1) == "to" && r.is(i-2, wants)
}

// sideMayStand reports whether the word at token i stands where a side does: before a limb, or leading to a place
// in the body ("jammed write up in the armpit").
func (r *reader) sideMayStand(i int) bool {
	if r.verbMayStand(i) {
		return false
	}
	if h, ok := r.hitAt(i + 1); ok && r.kindOf(h) == kindLimb {
		return true
	}
	return r.opensNoun(i-1) && r.endsThere(i+1) || r.is(i+1, particle) && (r.word(i+2) == "in" || r.is(i+2, onward))
}
