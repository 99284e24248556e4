// Package fleet is the pipeline that checks the notes of many homes on Apache Beam: the same findings and the same tallies
// that stance check and stance audit give, from notes that no single machine has to hold.
//
// [Pipeline] puts it together from a [Job], and [Begin] and [Done] stand before and behind it. Nothing gathers a home on
// one worker:
//
//	files ──read──▶ notes by home and resident ───────────┐
//	        ├─────▶ rows of the chart, by the same ───────┼──judge──▶ findings, tallies ──▶ whole files
//	        └─────▶ notes by home and shift ──across──▶ copies, by home and resident
//
// Judging itself is that of package lint. What is made here is how notes travel (wire.go), how files are read (read.go,
// parquetfile) and how output becomes whole files (write.go).
package fleet
