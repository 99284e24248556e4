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
	r.wentWithout()
	r.withSameAid()
	r.afterFall()
	r.out.Late = r.lateFor()
}

// lateFor is the time of day for which the note says that it is a late entry: it stands in the opening
// words, behind those that say so.
func (r *reader) lateFor() string {
	late := -1
	for i := range r.units {
		u := &r.units[i]
		switch {
		case u.kind == kindLate:
			if late >= 0 || i > 2 {
				return ""
			}
			late = i
		case u.kind == kindClock && late >= 0:
			return r.clockOf(*u)
		case late < 0 && i > 2 || late >= 0 && (i > late+4 || u.kind == kindVerb || u.kind == kindFall):
			return ""
		}
	}
	return ""
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
		{setOf(kindReason), (*reader).reasons},
		{setOf(kindAid), (*reader).absences},
		{setOf(kindReviewDone, kindReviewWord, kindReviewAsked), (*reader).reviews},
		{setOf(kindFaultWord), (*reader).faults},
		{setOf(kindFit, kindFitPart, kindAid), (*reader).fits},
		{setOf(kindStaff, kindLevel), (*reader).changes},
		{setOf(kindVerb, kindOffFloor, kindAid, kindPlace, kindSame), (*reader).moves},
		{setOf(kindStaff, kindReason), (*reader).trailingHelpers},
		{setOf(kindBearing), (*reader).bearings},
		{setOf(kindSign), (*reader).signs},
		{setOf(kindFall), (*reader).falls},
		{setOf(kindPerson, kindForm), (*reader).told},
		{setOf(kindVitalName, kindVitalPair, kindVitalTaken), (*reader).vitals},
		{setOf(kindLevel), (*reader).levels},
		{setOf(kindAid, kindReason), (*reader).aids},
		{setOf(kindNoPart, kindUnable, kindTookPart, kindInBed, kindFall, kindVague, kindLevel, kindVerb), (*reader).remarks},
	}
}
