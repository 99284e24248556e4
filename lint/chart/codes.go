package chart

import (
	"fmt"
	"slices"
	"strings"

	"example.com/stance/lint/nearest"
)

// OwnSystem is the code system in which FHIR says what a chart has with no mapping at all: the code is a column and its
// value, "left_leg:nwb" or "transfer:two-person-pivot", or the column alone where an Observation gives the value.
const OwnSystem = "https://example.com/stance/chart"

// OwnValue stands in a mapping for the value that the Observation gives beside the code.
const OwnValue = "*"

// Codes is what codes of other systems mean: "system|code" → column → value.
type Codes map[string]map[string]string

// stated are the columns that a code may state.
func stated() []string { return columns()[4:12] }

// CheckCell says, in words for the reader of an error, what is wrong with a value of a column that a code may state, or
// with [OwnValue] there; empty where nothing is.
func CheckCell(column, value string) string {
	if !slices.Contains(stated(), column) {
		return fmt.Sprintf("column %s: want one of %s%s", quote(column), strings.Join(stated(), ", "), nearest.Hint(column, stated()))
	}
	if value == OwnValue {
		return ""
	}
	cells := map[string]string{
		"resident": "-", "from": "2026-01-01T00:00:00Z", "transfer": string(Independent), "walk": string(WalkNo),
	}
	cells[column] = value
	_, wrong := parse(cells, nil)
	return wrong
}

// meaning is what a code states, by column; nil where it is not known. value is what an Observation gives beside it.
func (c Codes) meaning(code, value string) map[string]string {
	if known, ok := c[code]; ok {
		cells := make(map[string]string, len(known))
		for col, v := range known {
			if v == OwnValue {
				v = value
			}
			cells[col] = v
		}
		return cells
	}
	own, ok := strings.CutPrefix(code, OwnSystem+"|")
	if !ok {
		return nil
	}
	col, v, given := strings.Cut(own, ":")
	if !given {
		v = value
	}
	return map[string]string{col: v}
}
