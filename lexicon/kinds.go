package lexicon

// kind is what a vocabulary entry does in a reading.
type kind uint8

const (
	kindNone kind = iota
	kindIgnore
	kindBearing
	kindLimb
	kindSide
	kindLoad
	kindVerb
	kindAid
	kindStaff
	kindLevel
	kindPlace
	kindFrom
	kindTo
	kindDistance
	kindVague
	kindClock
	kindSign
	kindPosture
	kindFall
	kindOffFloor
	kindPerson
	kindTold
	kindForm
	kindVitalName
	kindVitalPair
	kindVitalTaken
	kindReason
	kindFaultWord
	kindFaultPart
	kindFitPart
	kindFit
	kindReviewDone
	kindReviewWord
	kindReviewAsked
	kindNegPre
	kindNegPost
	kindNegStop
	kindExcept
	kindPast
	kindWas
	kindNow
	kindPlanned
	kindIf
	kindPossible
	kindOrder
	kindPlanHead
	kindHeader
	kindBreak
	kindAnd
	kindSubject
	kindCare
	kindStore
	kindNoPart
	kindUnable
	kindTookPart
	kindInBed
	kindSpelling
	kindFiller
	kindWords
	kindLate
	kindTheme
	kindSame
	kindStory
)

// kinds is a set of kinds.
type kinds uint64

func setOf(list ...kind) (s kinds) {
	for _, k := range list {
		s |= 1 << k
	}
	return s
}

// any reports whether the two sets share a kind.
func (s kinds) any(o kinds) bool { return s&o != 0 }

// kindNames tells the kind of an entry from its id.
type kindNames struct{ byFamily, byID map[string]kind }

func newKindNames() kindNames {
	byFamily := map[string]kind{
		"bearing": kindBearing, "limb": kindLimb, "side": kindSide, "load": kindLoad, "verb": kindVerb, "aid": kindAid,
		"staff": kindStaff, "level": kindLevel, "place": kindPlace, "dist": kindDistance, "vague": kindVague,
		"clock": kindClock, "sign": kindSign, "posture": kindPosture, "reason": kindReason, "care": kindCare,
		"store": kindStore, "spelling": kindSpelling, "accent": kindSpelling, "spoken": kindSpelling, "filler": kindFiller, "words": kindWords, "late": kindLate, "same": kindSame, "person": kindPerson, "subject": kindSubject,
		"rise": kindTheme, "hazard": kindTheme, "wheel": kindTheme, "posted": kindTheme, "mended": kindTheme, "theme": kindTheme,
	}
	byID := map[string]kind{
		"prep.from": kindFrom, "prep.to": kindTo,
		"fall.up": kindOffFloor, "fall.up-hand": kindOffFloor,
		"told.verb": kindTold, "told.message": kindTold, "told.form": kindForm,
		"vital.pair": kindVitalPair, "vital.taken": kindVitalTaken,
		"fault.word": kindFaultWord, "fault.part": kindFaultPart, "fit.part": kindFitPart,
		"review.word": kindReviewWord, "review.done": kindReviewDone, "review.asked": kindReviewAsked,
		"neg.pre": kindNegPre, "neg.post": kindNegPost, "neg.stop": kindNegStop, "but.except": kindExcept,
		"time.past": kindPast, "time.home": kindPast, "time.year": kindPast, "time.after": kindPast, "time.was": kindWas, "time.now": kindNow, "time.planned": kindPlanned, "time.story": kindStory, "time.told": kindStory, "time.dream": kindStory, "time.day": kindPlanned, "time.part": kindPlanned, "time.if": kindIf,
		"cert.possible": kindPossible, "mood.order": kindOrder, "mood.plan": kindPlanHead, "mood.header": kindHeader,
		"section.report": kindHeader, "section.plan": kindPlanHead,
		"break.strong": kindBreak, "break.and": kindAnd, "break.subject": kindSubject,
		"fall.cause": kindTheme, "fall.fracture": kindTheme, "fall.spine": kindTheme, "staff.hurt": kindTheme,
		"told.emergency": kindTheme, "told.office": kindTheme,
		"part.none": kindNoPart, "part.unable": kindUnable, "part.took": kindTookPart, "part.in-bed": kindInBed,
	}
	return kindNames{byFamily: byFamily, byID: byID}
}

// of gives the kind of an entry; ignore says that its words are to be passed over.
func (n kindNames) of(family, name string, ignore bool) (kind, bool) {
	if ignore {
		return kindIgnore, true
	}
	if k, ok := n.byID[family+"."+name]; ok {
		return k, true
	}
	if k, ok := n.byFamily[family]; ok {
		return k, true
	}
	switch family {
	case "fall":
		return kindFall, true
	case "vital":
		return kindVitalName, true
	case "fit":
		return kindFit, true
	}
	return kindNone, false
}
