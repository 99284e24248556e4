package course

import (
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/trade"
)

// Words for what a lane holds. The keys are those of the chart's CSV and of the statements.

func statusWords(key string) string { return trade.Weight(key).Full() }

func wayWords(key string) string {
	switch key {
	case alone:
		return "without help"
	case watched:
		return "with somebody watching"
	case helped:
		return "with helpers, way not said"
	case lift:
		return "mechanical lift, kind not said"
	case byHand:
		return "lifted by hand"
	case sideBySide:
		return "side by side"
	case sitStand, totalLift, board:
		return trade.Aid(key).Name()
	}
	return key
}

func walkWords(key string) string { return trade.Walk(key).Name() }

func walkedWords(key string) string {
	how, isAlone := strings.CutSuffix(key, byItself)
	words := "walked, aid not said"
	switch how {
	case withAid:
		words = "walked with an aid"
	case noAid:
		words = "walked without an aid"
	}
	if isAlone {
		words += ", alone"
	}
	return words
}

// said names the value, or that there is none.
func (v Value) said() string {
	if v.Key == "" {
		return "nothing charted"
	}
	return v.Words
}

// author is who wrote the note: "a care worker".
func (r NoteRef) author() string {
	if r.Role == "" || r.Role == lexicon.OtherRole {
		return ""
	}
	return "a " + string(r.Role)
}
