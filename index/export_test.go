package index

// SetBatch sets how many notes are put on the disk together.
func (w *Writer) SetBatch(notes int) { w.batchNotes = notes }

// SetFewNew sets how many items of the ledger the file of places may lack.
func (w *Writer) SetFewNew(items int) { w.fewNew = items }

// PlacesName is the file of places in an index's folder.
const PlacesName = placesName

// Impatient makes Find wait for no writer.
func (x *Index) Impatient() { x.wait = 0 }

// SetSearchFormat writes another format into the search part.
func (w *Writer) SetSearchFormat(format int) error {
	w.search.mark.Format = format
	return w.search.write(nil, w.search.mark.Applied)
}

// JournalName is the file of the notes in an index's folder.
const JournalName = journalName

// Behind reports whether the search part lacks what the ledger has.
func (w *Writer) Behind() bool { return w.behind }
