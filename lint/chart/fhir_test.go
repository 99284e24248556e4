package chart_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lint/chart"
)

// rows is the chart of FHIR as rows of CSV, and what is told of it.
func rows(t *testing.T, in string, codes chart.Codes) []string {
	t.Helper()
	c, passed, bad, err := chart.ReadAny("chart.json", strings.NewReader(in), chart.Options{Zone: time.UTC, Codes: codes})
	if err != nil {
		return []string{err.Error()}
	}
	var out []string
	for _, resident := range c.Residents() {
		for _, r := range c.Rows(resident) {
			var cells []string
			for _, col := range strings.Split("resident,unit,from,until,left_leg,right_leg,transfer,staff,aids,walk,by", ",") {
				cells = append(cells, r.Cell(col))
			}
			out = append(out, fmt.Sprintf("%d: %s", r.Line, strings.Join(cells, ",")))
		}
	}
	for _, e := range bad {
		out = append(out, e.Error())
	}
	for _, kind := range slices.Sorted(maps.Keys(passed)) {
		out = append(out, fmt.Sprintf("passed %d %s", passed[kind], kind))
	}
	return out
}

// order is a ServiceRequest of codes of the program's own system, from a day on.
func order(from, until string, codes ...string) string {
	var list []string
	for _, c := range codes {
		list = append(list, fmt.Sprintf(`{"system":%q,"code":%q}`, chart.OwnSystem, c))
	}
	return fmt.Sprintf(`{"resourceType":"ServiceRequest","status":"active","intent":"order","subject":{"reference":"Patient/R-1"},`+
		`"requester":{"display":"therapist"},"locationReference":[{"display":"Birch"}],"occurrencePeriod":{"start":%q,"end":%q},"code":{"coding":[%s]}}`,
		from, until, strings.Join(list, ",")) + "\n"
}

func TestFHIRChart(t *testing.T) {
	const base = "2026-11-01T09:00:00Z"
	full := order(base, "", "transfer:one-person", "walk:with-aid", "aids:walker-2w")
	tests := []struct {
		name, in string
		codes    chart.Codes
		want     []string
	}{
		{"one order", full, nil, []string{"1: R-1,Birch,2026-11-01T09:00:00Z,,,,one-person,,walker-2w,with-aid,therapist"}},
		{"the later over the earlier, aids together", full + order("2026-11-05T09:00:00Z", "", "transfer:two-person-pivot", "staff:2", "aids:belt", "left_leg:pwb:50"), nil, []string{
			"1: R-1,Birch,2026-11-01T09:00:00Z,2026-11-05T09:00:00Z,,,one-person,,walker-2w,with-aid,therapist",
			"2: R-1,Birch,2026-11-05T09:00:00Z,,pwb:50,,two-person-pivot,2,belt;walker-2w,with-aid,therapist"}},
		{"for a time, its last day included", full + order("2026-11-05", "2026-11-06", "left_leg:nwb"), nil, []string{
			"1: R-1,Birch,2026-11-01T09:00:00Z,2026-11-05T00:00:00Z,,,one-person,,walker-2w,with-aid,therapist",
			"2: R-1,Birch,2026-11-05T00:00:00Z,2026-11-07T00:00:00Z,nwb,,one-person,,walker-2w,with-aid,therapist",
			"1: R-1,Birch,2026-11-07T00:00:00Z,,,,one-person,,walker-2w,with-aid,therapist"}},
		{"mapped codes of Observation, Flag and CarePlan", full +
			`{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/R-1"},"effectiveDateTime":"2026-11-02T09:00:00Z","code":{"coding":[{"system":"urn:x","code":"helpers"}]},"valueInteger":2}` + "\n" +
			`{"resourceType":"Flag","status":"active","subject":{"reference":"Patient/R-1"},"period":{"start":"2026-11-03T09:00:00Z"},"code":{"coding":[{"system":"urn:x","code":"NWB-L"}]}}` + "\n" +
			`{"resourceType":"CarePlan","status":"active","subject":{"reference":"Patient/R-1"},"period":{"start":"2026-11-04T09:00:00Z"},"activity":[{"detail":{"status":"in-progress","code":{"coding":[{"system":"urn:x","code":"lift"}]}}},{"detail":{"status":"cancelled","code":{"coding":[{"system":"urn:x","code":"NWB-R"}]}}}]}` + "\n" +
			`{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/R-1"},"effectiveDateTime":"2026-11-02T09:00:00Z","code":{"coding":[{"system":"urn:x","code":"weight"}]}}` + "\n" +
			`{"resourceType":"Condition"}` + "\n" + `{"resourceType":"Patient"}`,
			chart.Codes{"urn:x|helpers": {"staff": chart.OwnValue}, "urn:x|NWB-L": {"left_leg": "nwb"}, "urn:x|NWB-R": {"right_leg": "nwb"}, "urn:x|lift": {"transfer": "total-lift", "walk": "no"}}, []string{
				"1: R-1,Birch,2026-11-01T09:00:00Z,2026-11-02T09:00:00Z,,,one-person,,walker-2w,with-aid,therapist",
				"2: R-1,Birch,2026-11-02T09:00:00Z,2026-11-03T09:00:00Z,,,one-person,2,walker-2w,with-aid,therapist",
				"3: R-1,Birch,2026-11-03T09:00:00Z,2026-11-04T09:00:00Z,nwb,,one-person,2,walker-2w,with-aid,therapist",
				"4: R-1,Birch,2026-11-04T09:00:00Z,,nwb,,total-lift,2,walker-2w,no,therapist",
				"passed 1 Condition", "passed 1 Observation"}},
		{"not in force", strings.Replace(full, "active", "revoked", 1) + strings.Replace(full, `"intent"`, `"doNotPerform":true,"intent"`, 1), nil, []string{"passed 2 ServiceRequest"}},
		{"no way to transfer", order(base, "", "left_leg:nwb") + strings.ReplaceAll(full, "11-01", "11-02"), nil, []string{
			"2: R-1,Birch,2026-11-02T09:00:00Z,,nwb,,one-person,,walker-2w,with-aid,therapist",
			`chart.json:1: resident "R-1" has no transfer from 2026-11-01T09:00:00Z: want a code that states it beside the others`}},
		{"unknown value", full + order("2026-11-02", "", "left_leg:nbw"), nil, []string{
			"1: R-1,Birch,2026-11-01T09:00:00Z,,,,one-person,,walker-2w,with-aid,therapist",
			`chart.json:2: left_leg "nbw": want one of nwb, ttwb, pwb, pwb:50, wbat, fwb, an empty cell (nearest is "nwb")`}},
		{"two values at once", full + order(base, "", "transfer:total-lift"), nil, []string{
			"2: R-1,Birch,2026-11-01T09:00:00Z,,,,total-lift,,walker-2w,with-aid,therapist",
			`chart.json:2: resident "R-1" has two values of transfer from 2026-11-01T09:00:00Z, here and on line 1: want one`}},
		{"no start", strings.Replace(full, base, "", 1), nil, []string{
			"chart.json:1: time from which a status holds: want 2026-11-24T21:40:00-05:00, 2026-11-24 21:40 or 24 Nov 2026 21:40; it is empty",
			"chart.json:1: time from which a status holds: want 2026-11-24T21:40:00-05:00, 2026-11-24 21:40 or 24 Nov 2026 21:40; it is empty",
			"chart.json:1: time from which a status holds: want 2026-11-24T21:40:00-05:00, 2026-11-24 21:40 or 24 Nov 2026 21:40; it is empty"}},
		{"a broken line", "{\"resourceType\":\"Serv\n" + full, nil, []string{
			"2: R-1,Birch,2026-11-01T09:00:00Z,,,,one-person,,walker-2w,with-aid,therapist",
			"chart.json:1: want JSON of a FHIR resource; a byte there does not fit, or the end is missing"}},
		{"CSV", "resident,unit,from,until,left_leg,right_leg,left_arm,right_arm,transfer,staff,aids,walk,by\nR,,2026-11-01 09:00,,,,,,board,,,no,\n", nil, []string{
			"2: R,,2026-11-01T09:00:00Z,,,,board,,,no,"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, rows(t, tt.in, tt.codes)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

// Any input comes to its end.
func FuzzFHIRChart(f *testing.F) {
	f.Add(order("2026-11-01", "2026-11-02", "transfer:board", "walk:no", "aids:cane;belt", "x", "staff"))
	f.Add(`{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"CarePlan"`)
	f.Fuzz(func(t *testing.T, in string) {
		for _, line := range rows(t, in, chart.Codes{"a|b": {"staff": chart.OwnValue}}) {
			if line == "" {
				t.Error("an empty line")
			}
		}
	})
}
