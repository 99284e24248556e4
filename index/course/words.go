package course

import (
	"strings"

	"example.com/stance/lexicon"
	"example.com/stance/lint/trade"
)

// Words for what a lane holds. The keys are those of the chart's CSV and of the statements.

func statusWords(key string) string {
	if percent, ok := strings.CutPrefix(key, partial+":"); ok {
		return percent + "% of the weight (PWB)"
	}
	switch key {
	case "nwb":
		return "no weight (NWB)"
	case "ttwb":
		return "toe touch only (TTWB)"
	case partial:
		return "part of the weight (PWB)"
	case "wbat":
		return "as tolerated (WBAT)"
	}
	return "full weight (FWB)"
}

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

func walkWords(key string) string {
	switch key {
	case "no":
		return "not walking"
	case "with-aid":
		return "with an aid"
	case "supervised":
		return "with somebody watching"
	}
	return "alone"
}

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
