package token

import "strconv"

// JoinSpoken joins the words of a number that takes several, such as "one hundred and forty two", "ninety seven" and
// "thirty six point eight", into one token of Kind Number, in place. Numbers said one after the other, such as the hour
// and the minutes of "two fifteen", stay apart.
func JoinSpoken(toks []Token) []Token {
	out := toks[:0]
	for i := 0; i < len(toks); i++ {
		t := toks[i]
		if v, words := spokenAt(toks[i:]); words > 1 || words == 1 && (belowNumber(out) || aboveNumber(toks[i:], v)) {
			last := &toks[i+words-1]
			t.End, t.Kind, t.Num, t.IsNum, t.Said = last.End, Number, v, true, true
			t.Word = strconv.FormatFloat(v, 'f', -1, 64)
			i += words - 1
		}
		out = append(out, t)
	}
	return out
}

// belowNumber reports whether the tokens end as the upper figure of a blood pressure does: "118 over".
func belowNumber(toks []Token) bool {
	n := len(toks)
	return n > 1 && wordAt(toks, n-1) == "over" && toks[n-2].Kind == Number
}

// aboveNumber reports whether the first word, a number, is the upper figure of a blood pressure: "ninety over sixty".
func aboveNumber(toks []Token, v float64) bool {
	_, below := numberAt(toks, 2)
	return v >= 20 && below && wordAt(toks, 1) == "over"
}

// spokenAt is the number that the first words say, and how many they are; 0 for none.
func spokenAt(toks []Token) (v float64, words int) {
	v, words = belowHundred(toks)
	if words == 1 && v >= 1 && v < 10 && wordAt(toks, 1) == "hundred" {
		v, words = v*100, 2
		rest := 2
		if wordAt(toks, 2) == "and" {
			rest++
		}
		if more, n := belowHundred(toks[min(rest, len(toks)):]); n > 0 {
			v, words = v+more, rest+n
		}
	}
	if more, n := belowHundred(toks[min(1, len(toks)):]); words == 1 && (v == 1 || v == 2) && more >= 10 && wordAt(toks, 1+n) == "over" {
		return v*100 + more, 1 + n // "one forty two over eighty"
	}
	if words == 0 || wordAt(toks, words) != "point" {
		return v, words
	}
	k := words + 1
	for scale := 0.1; ; scale /= 10 {
		n, ok := numberAt(toks, k)
		if !ok || n > 9 {
			break
		}
		v += n * scale
		k++
	}
	if k == words+1 {
		return v, words // "twenty three. Point taken."
	}
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'f', k-words-1, 64), 64)
	return v, k
}

// belowHundred is the number under a hundred that the first one or two words say, and how many they are.
func belowHundred(toks []Token) (float64, int) {
	v, ok := numberAt(toks, 0)
	if !ok || v > 99 {
		return 0, 0
	}
	if unit, more := numberAt(toks, 1); more && v >= 20 && int(v)%10 == 0 && unit >= 1 && unit < 10 {
		return v + unit, 2
	}
	return v, 1
}

func numberAt(toks []Token, i int) (float64, bool) {
	w := wordAt(toks, i)
	if w == "" {
		return 0, false
	}
	return NumberWord(w)
}

func wordAt(toks []Token, i int) string {
	if i >= len(toks) || toks[i].Kind != Word {
		return ""
	}
	return toks[i].Word
}
