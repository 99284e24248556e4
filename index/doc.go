// Package index keeps notes in a folder and searches them by words and by what they say.
//
// OpenWriter and Writer.Keep put notes in; Open, Index.Find and Index.Notes get them out. The package
// knows notes and statements; it knows no chart, no rule and no shift hours, and only it uses bleve.
package index
