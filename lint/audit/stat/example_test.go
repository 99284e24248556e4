package stat_test

import (
	"fmt"

	"example.com/stance/lint/audit/stat"
)

func ExampleWilson() {
	// Three of forty falls were not told.
	iv := stat.Wilson(3, 40, 0.95)
	fmt.Printf("%.1f per 100, %.1f to %.1f\n", 100*3./40, 100*iv.Low, 100*iv.High)
	// Output: 7.5 per 100, 2.6 to 19.9
}

func ExampleFunnel() {
	f := stat.Funnel([]stat.Point{
		{Label: "Birch", Events: 31, N: 400},
		{Label: "Cedar", Events: 60, N: 410},
		{Label: "Oak", Events: 34, N: 390},
	})
	for _, u := range f.Units {
		fmt.Printf("%s: %.1f, %s\n", u.Label, 100*u.Value, u.Verdict)
	}
	// Output:
	// Birch: 7.8, inside
	// Cedar: 14.6, between, above
	// Oak: 8.7, inside
}

func ExampleDiagnostic() {
	// Of 500 flagged notes 60 were marked, of 9500 others 120.
	acc := stat.Diagnostic([]stat.Stratum{
		{Label: "flagged", Flagged: true, Population: 500, Marked: 60, Positive: 54},
		{Label: "not flagged", Population: 9500, Marked: 120, Positive: 1},
	}, 0.95)
	fmt.Printf("sensitivity %.2f, %.2f to %.2f\n", acc.Sensitivity.Value, acc.Sensitivity.Interval.Low, acc.Sensitivity.Interval.High)
	fmt.Printf("predictive value of a flag %.2f, %.2f to %.2f\n", acc.PPV.Value, acc.PPV.Interval.Low, acc.PPV.Interval.High)
	// Output:
	// sensitivity 0.85, 0.51 to 0.97
	// predictive value of a flag 0.90, 0.81 to 0.95
}
