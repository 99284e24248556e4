// Package index keeps notes in a folder and searches them by words and by what they say.
//
// OpenWriter and Writer.Keep put notes in; Open, Index.Find and Index.Notes get them out. The package
// knows notes and statements; it knows no chart, no rule and no shift hours, and only it uses bleve.
//
// # What is in the folder
//
// notes.log is the truth: all notes, earlier versions included, with the rules that were set for them, in
// packed blocks that are appended and synced batch by batch (see internal/journal and ledger). Damage to it
// is a *DamagedError, after which nothing is written to it; Repair saves what can be read. search is a cache of
// it, a bleve index that knows up to where in notes.log it goes, with checksums of its files; what it lacks is
// put in from there, and where it is not as it was closed, all is. places is another: where each resident's notes
// lie in notes.log and what has to be known of them without their words, up to where it goes. judged is what
// residents were last judged by, as far as that is known. settings is what the program put down with
// SetSettings. watched is the program's, and says what was taken in of folders. lock keeps a second writer out.
//
// A note may be withdrawn, and go by the numbers of documents that took its place: see Withdraw and Keep.
//
// # How a note is found
//
// By the stems of its words, and by terms that each say one choice of what one statement says: its class
// (affirmed or not, when, of whom), concept, aid and fields. So what is asked of one and the same
// statement is a look-up of one term (see internal/terms). A word that the lexicon reads is looked for
// by what it says as well, so that "walker" finds "2WW". Words are not stored with their positions:
// phrases and the places to highlight are looked up in the notes.
//
// What is found is what notes say. The resident, the chart, the nurse and the therapist decide.
package index
