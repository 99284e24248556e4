package lexicon_test

import (
	"fmt"
	"log"

	"example.com/stance/lexicon"
)

func ExampleLexicon_Read() {
	lex, err := lexicon.New()
	if err != nil {
		log.Fatal(err)
	}
	note := "NWB L leg. Transferred bed to w/c x2 with belt, no dizziness."
	for _, s := range lex.Read(note, lexicon.CareWorker).Statements {
		fmt.Printf("%s %s at %d: %q\n", s.Polarity, s.Concept, s.Span.Start, s.Text)
	}
	// Output:
	// affirmed bearing.none at 0: "NWB L leg"
	// affirmed move.transfer at 11: "Transferred bed to w/c x2 with belt"
	// negated sign.dizzy at 51: "dizziness"
}

// A home's own term is read as the concept it stands for.
func ExampleNew_words() {
	lex, err := lexicon.New(lexicon.Word{Term: "big blue", Concept: "aid.total-lift"})
	if err != nil {
		log.Fatal(err)
	}
	for _, s := range lex.Read("Transferred to bed x2 with big blue.", lexicon.CareWorker).Statements {
		staff, _ := s.Staff.Get()
		fmt.Println(s.Concept, s.Method, staff, s.To)
	}
	// Output: move.transfer total-lift 2 bed
}

func ExampleStatement_Done() {
	lex, err := lexicon.New()
	if err != nil {
		log.Fatal(err)
	}
	note := "Walked with cane x1. Did not walk after lunch. Physio to trial crutches tomorrow."
	for _, s := range lex.Read(note, lexicon.Nurse).Statements {
		fmt.Println(s.Concept, s.Polarity, s.Time, s.Done())
	}
	// Output:
	// move.walk affirmed now true
	// move.walk negated now false
	// aid.crutch affirmed planned false
}
