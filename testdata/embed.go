// Package testdata carries the demo home into the program. The other folders beside it are read by
// tests only.
package testdata

import "embed"

// Demo is the folder demo: the notes, the chart and the policy of a home that does not exist.
//
//go:embed demo
var Demo embed.FS
