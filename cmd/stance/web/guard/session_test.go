package guard_test

import (
	"testing"

	"example.com/stance/cmd/stance/web/guard"
)

func TestSees(t *testing.T) {
	for _, tt := range []struct {
		units []string
		unit  string
		want  bool
	}{
		{nil, "Birch", false},
		{nil, "", false},
		{[]string{"Rowan", "Birch"}, "Birch", true},
		{[]string{"Birch"}, "BIRCH", true},
		{[]string{"Birch"}, "Birch 2", false},
		{[]string{"Birch"}, "", false},
		{[]string{"Birch"}, "all", false},
		{[]string{guard.AllUnits}, "Birch", true},
		{[]string{"All"}, "Birch", true},
		{[]string{guard.AllUnits}, "", true},
		{[]string{""}, "", false},
	} {
		if got := (guard.Session{Units: tt.units}).Sees(tt.unit); got != tt.want {
			t.Errorf("units %q: Sees(%q) = %t, want %t", tt.units, tt.unit, got, tt.want)
		}
	}
	if (guard.Session{}).May(guard.Write) {
		t.Error("the zero Session may write")
	}
}
