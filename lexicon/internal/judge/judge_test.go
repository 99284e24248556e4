package judge_test

import (
	"testing"

	"example.com/stance/lexicon/internal/judge"
)

func TestParse(t *testing.T) {
	all, err := judge.Parse("# a head\n\ncause\talways\t-100\ncause\tby=pronoun\t30\nassessed\tverb=look at\t250\n")
	if err != nil {
		t.Fatal(err)
	}
	if got := all["cause"].Score([]string{"by=pronoun", "verb=look at"}); got != -70 {
		t.Errorf("the score is %d, want what every clause has and the known trait: -70", got)
	}
	if got := all["assessed"].Score([]string{"verb=look at"}); got != 250 {
		t.Errorf("the score is %d, want 250", got)
	}
	if got := all["unknown"].Score([]string{"by=pronoun"}); got != 0 {
		t.Errorf("the score of a decision without weights is %d", got)
	}
}

func TestParseFaults(t *testing.T) {
	for _, text := range []string{"cause\talways", "cause\talways\tmuch", "cause\t\t12", "cause always 12"} {
		if _, err := judge.Parse("# a head\n" + text + "\n"); err == nil {
			t.Errorf("Parse takes %q", text)
		} else if want := "weights of the judge, line 2: want a decision, a trait and a whole number with tabs between"; err.Error() != want {
			t.Errorf("Parse(%q) says %q", text, err)
		}
	}
}

func TestDefault(t *testing.T) {
	all, err := judge.Default()
	if err != nil {
		t.Fatal(err)
	}
	for decision, m := range all {
		if m[judge.Always] >= 0 {
			t.Errorf("%s: every clause begins with %d, want odds against it", decision, m[judge.Always])
		}
	}
}
