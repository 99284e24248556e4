package lexicon

import "testing"

// TestClassesHaveWords holds that the data files give words to every class that the engine asks about.
func TestClassesHaveWords(t *testing.T) {
	lex, err := New()
	if err != nil {
		t.Fatal(err)
	}
	var said classes
	for _, in := range lex.classes {
		for i := range said {
			said[i] |= in[i]
		}
	}
	for c, name := range classNames() {
		if name == "" {
			t.Errorf("class %d has no name", c)
		}
		if !said.has(class(c)) {
			t.Errorf("class %q has no words", name)
		}
	}
}
