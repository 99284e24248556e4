package lexicon

import (
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// A box is a tick box of a form that was written out as text.
type box struct {
	from, to int // tokens
	ticked   bool
}

// tickBoxes takes out of the tokens what a form offered and nobody ticked: "Walks: [x] with frame [ ] alone".
// Items stand behind their boxes or, where words lead to the first box of a line and the last closes it, before
// them ("Assist x1 [x] Assist x2 [ ]"). What was ticked stays, parted by commas.
func (r *reader) tickBoxes() {
	if !strings.ContainsAny(r.text, "[☐☑☒☓□■") && !strings.Contains(r.text, "( )") {
		return // few notes have any
	}
	out := make([]token.Token, 0, len(r.toks))
	for lo := 0; lo < len(r.toks); {
		hi := lo
		for hi < len(r.toks) && r.toks[hi].Kind != token.Newline {
			hi++
		}
		out = r.tickLine(out, lo, hi)
		if hi < len(r.toks) {
			out = append(out, r.toks[hi])
		}
		lo = hi + 1
	}
	r.toks = out
}

// tickLine appends the tokens from lo to hi, a line, without the items whose boxes are empty.
func (r *reader) tickLine(out []token.Token, lo, hi int) []token.Token {
	boxes := r.boxes(lo, hi)
	if len(boxes) == 0 {
		return append(out, r.toks[lo:hi]...)
	}
	last := hi
	if last > lo && r.word(last-1) == "." {
		last--
	}
	behind := boxes[0].from == lo || r.endsLabel(boxes[0].from-1) || boxes[len(boxes)-1].to < last
	at := lo
	for i, b := range boxes {
		item := [2]int{b.to, hi} // behind the box, up to the next one or the end of what it can belong to
		if i+1 < len(boxes) {
			item[1] = boxes[i+1].from
		}
		if behind {
			item[1] = r.itemEnd(item[0], item[1])
			out = append(out, r.toks[at:b.from]...)
		} else {
			item = [2]int{r.itemStart(at, b.from), b.from}
			out = append(out, r.toks[at:item[0]]...)
		}
		if b.ticked {
			if n := len(out); n > 0 && out[n-1].Word != ":" && out[n-1].Word != "," && out[n-1].Kind != token.Newline {
				comma := r.toks[b.from]
				comma.Word, comma.Kind = ",", token.Sign
				out = append(out, comma)
			}
			out = append(out, r.toks[item[0]:item[1]]...)
		}
		at = max(item[1], b.to)
	}
	return append(out, r.toks[at:hi]...)
}

// boxes finds the tick boxes among the tokens from lo to hi.
func (r *reader) boxes(lo, hi int) []box {
	var out []box
	for i := lo; i < hi; i++ {
		switch r.toks[i].Word {
		case "☐", "□":
			out = append(out, box{i, i + 1, false})
		case "☑", "☒", "☓", "■":
			out = append(out, box{i, i + 1, true})
		case "[", "(":
			end := "]"
			if r.word(i) == "(" {
				end = ")"
			}
			switch {
			case i+1 < hi && r.word(i+1) == end:
				out = append(out, box{i, i + 2, false})
			case i+2 < hi && r.word(i+2) == end && (r.word(i+1) == "x" || r.word(i+1) == "✓" || r.word(i+1) == "✔"):
				out = append(out, box{i, i + 3, true})
			}
		}
	}
	return out
}

// endsLabel reports whether token i closes what stands before the items of a form.
func (r *reader) endsLabel(i int) bool {
	switch r.word(i) {
	case ":", ".", "|", "-", "→", ";":
		return true
	}
	return false
}

// itemEnd is where the item that begins at token i ends before end: at a full stop, or before the label of the
// next question.
func (r *reader) itemEnd(i, end int) int {
	for k := i; k < end; k++ {
		if w := r.word(k); w == "." || w == "|" || w == ";" {
			return k
		}
	}
	return end
}

// itemStart is where the item that ends before token end begins, from token i on: behind the label of the
// question.
func (r *reader) itemStart(i, end int) int {
	for k := end - 1; k >= i; k-- {
		if r.endsLabel(k) {
			return k + 1
		}
	}
	return i
}
