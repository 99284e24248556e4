package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/english"
	"example.com/stance/lexicon/internal/spell"
	"example.com/stance/lexicon/internal/token"
)

// What is clipped in speech is often written so: "'er" for her, "her form's in".

// droppedHs gives words back the letter whose place an apostrophe takes: "walked 'im wi' 'is frame".
func (r *reader) droppedHs() {
	for i := range r.toks {
		t := &r.toks[i]
		if t.Kind != token.Word || !apostropheEnds(r.text[:t.Start]) {
			continue
		}
		whole := "h" + t.Word
		clipped := r.lex.classes[t.Word]
		if clipped.has(clippedWord) || english.Look(t.Word) == (english.Word{}) && !spell.IsEnglish(t.Word) && english.Look(whole) != (english.Word{}) {
			t.Word = whole
		}
	}
}

// apostropheEnds reports whether an apostrophe that no letter stands before ends the text.
func apostropheEnds(text string) bool {
	rest, ok := strings.CutSuffix(text, "'")
	if !ok {
		rest, ok = strings.CutSuffix(text, "’")
	}
	return ok && (rest == "" || strings.ContainsAny(rest[len(rest)-1:], " \n\t,.(-/"))
}

// clippedIs reads "'s" as the verb where no noun follows that somebody could own: "form's in", "bulb's gone".
func (r *reader) clippedIs() {
	for i := 1; i+1 < len(r.toks); i++ {
		if r.word(i) != "'s" || r.is(i-1, thirdPerson) || r.is(i-1, things) {
			continue
		}
		next, w := i+1, r.english(i+1)
		done := w.form == english.Past && !(i+2 < len(r.toks) && r.nominal(i+2))
		if done || r.is(next, particle) || r.is(next, justThere) || r.word(next) == "in" && r.endsThere(next+1) || r.word(next) == "not" || r.word(next) == "been" {
			r.hearAs(i, "is")
		}
	}
}
