package rules

import (
	"strings"
	"unicode"

	"example.com/stance/lexicon"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/timeline"
)

// forms are the forms of a verb that ends in a consonant.
func forms(base string, t lexicon.Tense) string {
	doubled := base
	if strings.HasSuffix(base, "fer") {
		doubled += "r" // transferred, transferring
	}
	switch t {
	case lexicon.Third:
		return base + "s"
	case lexicon.Past:
		return doubled + "ed"
	case lexicon.Gerund:
		return doubled + "ing"
	}
	return base
}

// reword proposes the verb, in the tense and the case of the head, in place of the head. Whom the head
// names stays: "lifted her up" becomes "transferred her".
func reword(e *timeline.Entry, s *lexicon.Statement, verb string) *finding.Rewrite {
	head := s.Detail.Head
	if head.IsZero() {
		return nil
	}
	return &finding.Rewrite{
		Start: head.Start,
		End:   head.End,
		Text:  inCaseOf(e.Words(head), forms(verb, s.Detail.Tense)) + object(e.Words(head)),
	}
}

// object is the pronoun among the words after a verb, with a space before it, or nothing.
func object(head string) string {
	words := strings.Fields(head)
	for i, w := range words {
		switch strings.ToLower(w) {
		case "her", "him", "them", "me":
			if i > 0 {
				return " " + w
			}
		}
	}
	return ""
}

// inCaseOf writes the word in the case of the words that it replaces: all capitals, a capital first,
// or small.
func inCaseOf(model, word string) string {
	letters := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) {
			return r
		}
		return -1
	}, model)
	switch {
	case letters == "":
		return word
	case len(letters) > 1 && letters == strings.ToUpper(letters):
		return strings.ToUpper(word)
	case unicode.IsUpper([]rune(letters)[0]):
		return strings.ToUpper(word[:1]) + word[1:]
	}
	return word
}
