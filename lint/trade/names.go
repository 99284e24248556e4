package trade

import "strings"

// A Weight is a bearing status as a chart's cell has it: "nwb", "pwb:50"; empty where nothing is restricted.
type Weight string

// Name says in plain words how much weight a limb may take.
func (w Weight) Name() string {
	status, percent, _ := strings.Cut(strings.ToLower(strings.TrimSpace(string(w))), ":")
	percent = strings.TrimSuffix(strings.TrimSpace(percent), "%")
	switch status {
	case "nwb":
		return "no weight"
	case "ttwb":
		return "toe touch only"
	case "pwb":
		if percent != "" {
			return "at most " + percent + "% of the body weight"
		}
		return "part of the body weight"
	case "wbat":
		return "as much weight as is comfortable"
	case "fwb":
		return "full weight"
	case "":
		return "not restricted"
	}
	return string(w)
}

// Short is what staff write for it: "NWB"; empty where nothing is restricted.
func (w Weight) Short() string {
	status, _, _ := strings.Cut(strings.ToUpper(strings.TrimSpace(string(w))), ":")
	return status
}

// Full is the name with what staff write: "no weight (NWB)".
func (w Weight) Full() string {
	if s := w.Short(); s != "" {
		return w.Name() + " (" + s + ")"
	}
	return w.Name()
}

// A Way is a way of transfer as a chart's cell has it, such as "one-person-pivot".
type Way string

// Name says in plain words how a resident is transferred; for a way that is not known, its id.
func (w Way) Name() string {
	switch w {
	case "independent":
		return "without help"
	case "supervised":
		return "with somebody watching"
	case "one-person":
		return "with one helper"
	case "one-person-pivot":
		return "pivot with one helper"
	case "one-person-side":
		return "side by side with one helper"
	case "two-person":
		return "with two helpers"
	case "two-person-pivot":
		return "pivot with two helpers"
	case "two-person-side":
		return "side by side with two helpers"
	case "board":
		return "over " + Aid(w).One()
	case SitStandLift, TotalLift:
		return "with the " + Aid(w).Name()
	}
	return string(w)
}

// A Walk is what a chart's cell says of walking, such as "with-aid".
type Walk string

// Name says in plain words how a resident walks; for what is not known, the cell.
func (w Walk) Name() string {
	switch w {
	case "no":
		return "not allowed"
	case "with-aid":
		return "with an aid"
	case "supervised":
		return "with somebody watching"
	case "independent":
		return "alone"
	}
	return string(w)
}
