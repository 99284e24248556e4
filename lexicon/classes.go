package lexicon

import (
	"fmt"
	"strings"
)

// class is a set of single words that the engine asks about by name. The words, and what each class does,
// are data ("words.…" in data/95-words.txt). They are no wordings: the matcher does not know them.
type class uint16

const (
	// People and pronouns.
	object class = iota
	residentNoun
	thirdPerson
	firstPerson
	writerNamed
	otherObject
	owner
	article
	title
	parent
	staffWord
	staffSubject
	surnameToo
	he
	she
	self
	male
	female
	manyPeople
	things
	colleagueNoun
	studentNoun
	volunteerNoun
	relativeNoun

	// Words that stand before a noun and change nothing.
	beforePlace
	beforePerson
	beforeCare
	beforeLoad

	// Words that lead to something.
	byMeans
	byMachine
	usedWith
	ofCare
	helpFor
	onward
	endsTo
	through
	purpose
	topicOf
	whileDoing
	placed
	toPerson
	toldOccasion
	joinsNames
	joinsNamesToo
	besideHelpers
	orderSource
	boundFor
	givenFor
	keptTo
	inUseBy

	// Words that part, open or go on with a clause.
	partsFully
	partsNot
	endsDenial
	goesOn
	wraps
	shortened

	// When, until and if.
	when
	usedWhen
	meanwhile
	until
	provided
	depends
	dependsMay
	toCome
	toComeLater
	weekday
	month
	minutes
	weeks
	beforeYear
	measure
	countsOther
	discontinued
	labelTime
	howOften
	mayWord
	countedThing

	// No, and doubt.
	noAnswer
	deniesAll
	commandsNot
	minor
	trailing

	// Telling and being told.
	tells
	tellsWhom
	tellBase
	phones
	phonesAbout
	phonesBack
	reaches
	beingTold
	informed
	byTherapist
	onWay
	acts
	visits
	says
	correction
	planWord
	knowing
	isThere
	beingOrUsing

	// Reassessment.
	reassesses
	evaluation
	examined

	// Moves and aids.
	beforeVerb
	offers
	went
	onFoot
	managed
	hadTo
	perfect
	toldSo
	putDown
	putBack
	turned
	turnedWhat
	carriedWhom
	walkedWhom
	needs
	goesWith
	changing
	institution
	fullSling
	wheelchairWord
	powered
	altered
	wayOrManner
	sideWord
	supervising
	alters
	left
	right
	upright
	rises
	tries
	leavesBehind
	wobbles
	helpWord
	amountWord

	// Up.
	upState
	upToOther
	notUp
	wakeUp
	upThere

	// Falls.
	fallNoun
	afterFall
	thatFall
	wentOver
	thingFalls
	ontoBody
	strikes
	sustained
	elsewhere
	ache
	scored
	wentDownBy
	slips
	steadies
	goesDown
	comesOff
	offWhat
	besidePlace
	floorNoun
	outdoorNoun
	seatNoun
	bodySide
	beWord
	lieWord
	justThere
	findWord
	endsUp
	wayDown
	wentWord
	wentFor
	lowers
	kinAddress
	someoneElse
	joinsClause
	ordinal
	dreams
	faintly
	falling
	attendWord
	otherErrand
	noneWord
	headNoun
	blowWord
	neverWord
	partOf
	onPart
	markNoun
	looksAt
	soundWord
	liesAt
	raisesWord
	wayBack
	ontoSeat

	// Signs and vital signs.
	trouble
	hedge
	figureTail
	vitalsWord
	pressureWord
	standingLetters

	classCount
)

// classNames is what the data files call the classes.
func classNames() [classCount]string {
	return [...]string{
		object: "object", residentNoun: "resident-noun", thirdPerson: "third-person", firstPerson: "first-person",
		writerNamed: "writer-named", otherObject: "other-object", owner: "owner", article: "article", title: "title",
		parent: "parent", staffWord: "staff-word", staffSubject: "staff-subject", surnameToo: "surname-too",
		he: "he", she: "she", self: "self", male: "male", female: "female", manyPeople: "many-people",
		things: "things", colleagueNoun: "colleague", studentNoun: "student", volunteerNoun: "volunteer",
		relativeNoun: "relative",

		beforePlace: "before-place", beforePerson: "before-person", beforeCare: "before-care",
		beforeLoad: "before-load",

		byMeans: "by-means", byMachine: "by-machine", usedWith: "used-with", ofCare: "of-care", helpFor: "help-for",
		onward: "onward", endsTo: "ends-to", through: "through", purpose: "purpose", topicOf: "topic-of",
		whileDoing: "while-doing", placed: "placed", toPerson: "to-person", toldOccasion: "told-occasion",
		joinsNames: "joins-names", joinsNamesToo: "joins-names-too",
		besideHelpers: "beside-helpers", orderSource: "order-source", boundFor: "bound-for", givenFor: "given-for",
		keptTo: "kept-to", inUseBy: "in-use-by",

		partsFully: "parts-fully", partsNot: "parts-not", endsDenial: "ends-denial", goesOn: "goes-on",
		wraps: "wraps", shortened: "shortened",

		when: "when", usedWhen: "used-when", meanwhile: "meanwhile", until: "until", provided: "provided",
		depends: "depends", dependsMay: "depends-may", toCome: "to-come", toComeLater: "to-come-later",
		weekday: "weekday", month: "month", minutes: "minutes", weeks: "weeks", beforeYear: "before-year",
		measure: "measure", countsOther: "counts-other", discontinued: "discontinued", labelTime: "label-time",
		howOften: "how-often", mayWord: "may", countedThing: "counted-thing",

		noAnswer: "no-answer", deniesAll: "denies-all", commandsNot: "commands-not", minor: "minor",
		trailing: "trailing",

		tells: "tells", tellsWhom: "tells-whom", tellBase: "tell-base", phones: "phones",
		phonesAbout: "phones-about", phonesBack: "phones-back", reaches: "reaches", beingTold: "being-told",
		informed: "informed", byTherapist: "by-therapist", onWay: "on-way", acts: "acts", visits: "visits",
		says: "says", correction: "correction", planWord: "plan-word", knowing: "knowing", isThere: "is-there",
		beingOrUsing: "being-or-using",

		reassesses: "reassesses", evaluation: "evaluation", examined: "examined",

		beforeVerb: "before-verb", offers: "offers", went: "went", onFoot: "on-foot", managed: "managed",
		hadTo: "had-to", perfect: "perfect", toldSo: "told-so", putDown: "put-down", putBack: "put-back",
		turned: "turned", turnedWhat: "turned-what", carriedWhom: "carried-whom", walkedWhom: "walked-whom",
		needs: "needs", goesWith: "goes-with", changing: "changing", institution: "institution",
		fullSling: "full-sling", wheelchairWord: "wheelchair-word", powered: "powered", altered: "altered",
		wayOrManner: "way-or-manner", sideWord: "side-word", supervising: "supervising", alters: "alters",
		left: "left", right: "right", upright: "upright", rises: "rises", tries: "tries",
		leavesBehind: "leaves-behind", wobbles: "wobbles", helpWord: "help-word", amountWord: "amount-word",

		upState: "up-state", upToOther: "up-to-other", notUp: "not-up", wakeUp: "wake-up", upThere: "up-there",

		fallNoun: "fall-noun", afterFall: "after-fall", thatFall: "that-fall", wentOver: "went-over",
		thingFalls: "thing-falls", ontoBody: "onto-body", strikes: "strikes", sustained: "sustained",
		elsewhere: "elsewhere", ache: "ache", scored: "scored", wentDownBy: "went-down-by", slips: "slips",
		steadies: "steadies", goesDown: "goes-down", comesOff: "comes-off", offWhat: "off-what",
		besidePlace: "beside-place", floorNoun: "floor-noun", outdoorNoun: "outdoor-noun", seatNoun: "seat-noun", bodySide: "body-side", beWord: "be", lieWord: "lie", justThere: "just-there", findWord: "find", endsUp: "ends-up", wayDown: "way-down", wentWord: "went-word", wentFor: "went-for", lowers: "lowers", kinAddress: "kin-address", someoneElse: "someone-else", joinsClause: "joins-clause", ordinal: "ordinal", dreams: "dreams", faintly: "faintly", falling: "falling", attendWord: "attend", otherErrand: "other-errand", noneWord: "none", headNoun: "head-noun", blowWord: "blow", neverWord: "never", partOf: "part-of", onPart: "on-part", markNoun: "mark", looksAt: "looks-at", soundWord: "sound", liesAt: "lies-at", raisesWord: "raises",
		wayBack: "way-back", ontoSeat: "onto-seat",

		trouble: "trouble", hedge: "hedge", figureTail: "figure-tail", vitalsWord: "vitals-word",
		pressureWord: "pressure-word", standingLetters: "standing-letters",
	}
}

// classes is a set of classes.
type classes [(classCount + 63) / 64]uint64

func (s *classes) add(c class) { s[c>>6] |= 1 << (c & 63) }

func (s *classes) has(c class) bool { return s[c>>6]&(1<<(c&63)) != 0 }

// classify files the words of an entry under its class.
func (l *Lexicon) classify(e *entry) error {
	for c, name := range classNames() {
		if name != e.name {
			continue
		}
		for _, w := range e.Says {
			if strings.ContainsAny(w.Text, " ()[]{}|<>~") {
				return fmt.Errorf("%s:%d: a class of words takes single words, not %q", e.File, w.Line, w.Text)
			}
			s := l.classes[w.Text]
			s.add(class(c))
			l.classes[w.Text] = s
		}
		return nil
	}
	return fmt.Errorf("%s:%d: unknown class of words %q", e.File, e.Line, e.name)
}

// is reports whether token i is of a class of words; beyond the ends of the note there is none.
func (r *reader) is(i int, c class) bool {
	return uint(i) < uint(len(r.classes)) && r.classes[i].has(c)
}
