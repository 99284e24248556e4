package policy_test

import (
	"fmt"
	"strings"

	"example.com/stance/lint/policy"
)

func ExampleRead() {
	known := policy.Known{Rules: []string{"aid-unstated", "vague-help"}, Concepts: []string{"aid.total-lift"}}
	p, err := policy.Read("stance.yaml", strings.NewReader("lift_helpers: 1\nrules:\n  vague-help: off\n"), known)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(p.LiftHelpers, p.Rules["vague-help"], p.CopiedWindow)

	_, err = policy.Read("stance.yaml", strings.NewReader("rules:\n  vauge-help: off\n"), known)
	fmt.Println(err)
	// Output:
	// 1 off 336h0m0s
	// stance.yaml:2: rule "vauge-help" is unknown: nearest is "vague-help"
}
