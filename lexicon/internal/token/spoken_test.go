package token_test

import (
	"strings"
	"testing"

	"example.com/stance/lexicon/internal/token"
)

func TestJoinSpoken(t *testing.T) {
	for said, want := range map[string]string{
		"lying one hundred and forty two over eighty six": "lying 142 over 86",
		"standing one eighteen over seventy":              "standing 118 over 70",
		"temp thirty six point eight full stop":           "temp 36.8 full stop",
		"bp ninety over sixty":                            "bp 90 over 60",
		"sats ninety seven percent":                       "sats 97 percent",
		"one hundred and five":                            "105",
		"two hundred ml":                                  "200 ml",
		"at two fifteen with two staff":                   "at two fifteen with two staff",
		"one one two":                                     "one one two",
		"one point to make":                               "one point to make",
		"pulse 82 over the day":                           "pulse 82 over the day",
		"twenty past two":                                 "twenty past two",
		"hundred and":                                     "hundred and",
		"one hundred and":                                 "100 and",
		"":                                                "",
	} {
		var got []string
		text := said
		for _, tok := range token.JoinSpoken(token.Cut(nil, text)) {
			got = append(got, tok.Word)
			if tok.Start >= tok.End || tok.End > len(text) {
				t.Errorf("%q: a token from %d to %d", said, tok.Start, tok.End)
			}
		}
		if s := strings.Join(got, " "); s != want {
			t.Errorf("%q: got %q, want %q", said, s, want)
		}
	}
}
