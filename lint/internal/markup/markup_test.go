package markup_test

import (
	"testing"

	"example.com/stance/lint/internal/markup"
)

func TestText(t *testing.T) {
	tests := []struct{ in, want string }{
		{"one  two\n three", "one two three"},
		{"<div>one<p>two</p>three<br/>four<br>five</div>", "one\ntwo\nthree\nfour\nfive"},
		{"<ul><li>one <b>two</b>three</li><li>four</li></ul>", "one twothree\nfour"},
		{"<table><tr><td>a</td><td>b</td></tr><tr><td>c</td></tr></table>", "a b\nc"},
		{"<pre>one  two\n three</pre>", "one  two\n three"},
		{"a<script>x < y</script><style>b{}</style>c &amp; d &lt;e&gt; &eacute;", "ac & d <e> é"},
		{"transfer x2 &rarr; w/c&nbsp;now", "transfer x2 → w/c now"},
		{`<!DOCTYPE lolz [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]><p>&b;</p>`, `]>` + "\n" + `&b;`},
		{"<p>one", "one"},
		{"<<<", "<<<"},
	}
	for _, tt := range tests {
		if got := markup.Text(tt.in); got != tt.want {
			t.Errorf("%q: got %q, want %q", tt.in, got, tt.want)
		}
	}
}

// What HTML declares is not expanded: the words are never longer than the markup.
func FuzzText(f *testing.F) {
	f.Add(`<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><div>&b;<pre> x</pre></div>`)
	f.Add("<td>a<td>b<br>&eacute; &#x1F6B6;")
	f.Fuzz(func(t *testing.T, in string) {
		if got := markup.Text(in); len(got) > len(in)*3+3 { // a NUL byte becomes the three of U+FFFD
			t.Errorf("%d bytes of %d", len(got), len(in))
		}
	})
}
