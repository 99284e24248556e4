// Package look is how stance looks: the style sheet that the pages of stance serve and the files of reports share, so
// that a file on a screen, a phone or paper is known for one of stance. It knows nothing of what is shown.
package look

import _ "embed"

//go:embed look.css
var sheet string

// Sheet is the style sheet. Each page or file adds its own rules after it.
func Sheet() string { return sheet }
