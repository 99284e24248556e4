package lexicon

// assemble turns units into statements, sentence by sentence.
func (r *reader) assemble() {
	for i := range r.units {
		r.units[i].part = int8(r.part(i))
	}
	r.fell = r.afterAFall()
	sents := r.sentences()
	for i := range sents {
		s := &sents[i]
		for _, step := range r.lex.steps {
			if s.has.any(step.needs) {
				step.run(r, s)
			}
		}
	}
	r.afterFall()
}

// step reads one sort of statement from a sentence that has the kinds it needs.
type step struct {
	needs kinds
	run   func(*reader, *sentence)
}

// steps are the sorts of statement in the order in which they take their words: what explains, then
// moves, then the rest, and last what nobody took.
func steps() []step {
	return []step{
		{setOf(kindReason, kindAway), (*reader).reasons},
		{setOf(kindReviewDone, kindReviewWord, kindReviewAsked), (*reader).reviews},
		{setOf(kindFaultWord), (*reader).faults},
		{setOf(kindFit), (*reader).fits},
		{setOf(kindVerb, kindOffFloor, kindAid, kindPlace), (*reader).moves},
		{setOf(kindBearing), (*reader).bearings},
		{setOf(kindSign), (*reader).signs},
		{setOf(kindFall), (*reader).falls},
		{setOf(kindPerson, kindForm), (*reader).told},
		{setOf(kindVitalName, kindVitalPair, kindVitalTaken), (*reader).vitals},
		{setOf(kindLevel), (*reader).levels},
		{setOf(kindAid, kindReason), (*reader).aids},
		{setOf(kindNoPart, kindUnable, kindTookPart, kindVague, kindLevel, kindVerb), (*reader).remarks},
	}
}
