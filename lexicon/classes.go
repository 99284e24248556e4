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
	someone
	anyone
	endeared
	endearing
	wifeWord
	husbandWord
	awayFrom
	locates
	alongside
	particle
	soundsLikeTo
	soundsLikeBy
	soundsLikeKnow
	soundsLikeRight
	brakeNoun
	brakeOn
	brakeOff
	restNoun
	restOn
	restOff
	worksWord
	otherBraked
	takesOff
	forgets
	nobodyWord
	ownWord
	hurtsWord
	strainsWord
	growsWord
	speaks
	hangsOn
	notAboutHere
	youngWord
	clippedWord
	findsBy
	movesWord
	goneWord
	makesOff
	nearBed
	untilWord
	lets
	feels
	wheels
	determiner
	perceives

	// Words that stand before a noun and change nothing.
	beforePlace
	beforePerson
	beforeCare

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
	placed
	toPerson
	toldOccasion
	joinsNames
	joinsNamesToo
	standsBy
	besideHelpers
	orderSource
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
	verbGroup
	preposition
	clauseWord
	bodySystem

	// When, until and if.
	when
	amid
	dreams
	modal
	statesWay
	postedOn
	topicLead
	until
	provided
	dependsMay
	toCome
	toComeLater
	weekday
	month
	showsFigures
	halfOfDay
	beforeHour
	onTheClock
	beforeNoon
	afterNoon
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
	keptState
	keptPause
	keptBy
	keptBusy
	turnsUp
	goesOff
	offHome
	hasWord
	otherRoom
	everyColleague
	aloneWord
	onlyWord
	messageNoun
	receives
	gives
	passesOn
	whatIsTold
	leadsToTold
	isThere
	beingOrUsing

	// Reassessment.
	reassesses
	evaluation
	examined
	ofReview
	ofMobility

	// Moves and aids.
	beforeVerb
	offers
	went
	onFoot
	managed
	hadTo
	reportedTo
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
	armWord
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
	helpsVerb
	didWord
	reversed
	stepWord
	onTheWay
	upOrOut
	wobbles
	helpWord
	amountWord

	// Where an aid was.
	copula
	pastBe
	holdsAid
	seeks
	seekNoun
	putSomewhere
	still
	there
	somewhere
	notToHand
	notToHandNoun
	toHand
	nearResident
	why
	takesAway
	goesAway
	leavesThere
	refuses
	wouldNot
	keepsIt
	waited
	didNot
	wants
	otherPeople
	aidPronoun

	// Faults of aids.
	aidGoods
	footrest
	notThere
	partHolder
	looseParts

	// How an aid fits.
	handle
	toHeight
	wrongHeight
	reachesTo

	// Up.
	upState
	upToOther
	notUp
	wakeUp
	howLong
	upThere

	// Falls.
	fallNoun
	afterFall
	thatFall
	wentOver
	thingFalls
	thingsFall
	faints
	faintTurn
	ordinal
	droops
	ontoBody
	strikes
	elsewhere
	ache
	wentDownBy
	slips
	steadies
	goesDown
	comesOff
	offWhat
	opensDown
	besidePlace
	edgeOf
	ontoWord
	heavyThing
	conveys
	besideFixture
	fixture
	sitWord
	thereWord
	heapNoun
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
	falling
	attendWord
	otherErrand
	noneFound
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
	noBlow
	offWord
	holdsHand
	risesSelf
	limbNoun
	misshapen
	crookedly
	outwards
	turnsLimb
	limbLies
	amongLooks
	wayBack
	ontoSeat

	// Signs and vital signs.
	hedge
	vitalsWord
	pressureWord
	standingLetters

	// Themes: rising in stages, wheelchairs, signs at the bed, and who other than staff helps.
	second
	pastime
	hence
	thenWord
	restWord
	noneWord
	signAbout
	studentWord
	volunteerWord
	kin
	tablemate
	besideStaff
	otherOf
	looksOn
	inBetween
	withHelp
	footWord
	caughtWord
	passedOff
	pushes

	// Stretches of words about one doing; see stretch.go.
	joinsClause
	joinsAlike
	besideDoing
	keepsDoing

	classCount
)

// classNames is what the data files call the classes.
func classNames() [classCount]string {
	return [...]string{
		object: "object", residentNoun: "resident-noun", thirdPerson: "third-person", firstPerson: "first-person",
		writerNamed: "writer-named", otherObject: "other-object", owner: "owner", article: "article", title: "title",
		parent: "parent", staffWord: "staff-word", staffSubject: "staff-subject", surnameToo: "surname-too",
		he: "he", she: "she", self: "self", male: "male", female: "female", manyPeople: "many-people",
		things: "things", colleagueNoun: "colleague",
		wifeWord: "wife-word", husbandWord: "husband-word", someone: "someone", anyone: "anyone", awayFrom: "away-from", perceives: "perceives",
		locates: "locates", alongside: "alongside", particle: "particle", determiner: "determiner",
		endeared: "endeared", endearing: "endearing",

		beforePlace: "before-place", beforePerson: "before-person", beforeCare: "before-care",

		byMeans: "by-means", byMachine: "by-machine", usedWith: "used-with", ofCare: "of-care", helpFor: "help-for",
		onward: "onward", endsTo: "ends-to", through: "through", purpose: "purpose",
		placed: "placed", toPerson: "to-person", toldOccasion: "told-occasion",
		joinsNames: "joins-names", joinsNamesToo: "joins-names-too", standsBy: "stands-by",
		besideHelpers: "beside-helpers", orderSource: "order-source", givenFor: "given-for",
		keptTo: "kept-to", inUseBy: "in-use-by",

		partsFully: "parts-fully", partsNot: "parts-not", endsDenial: "ends-denial", goesOn: "goes-on",
		wraps: "wraps", shortened: "shortened", verbGroup: "verb-group", preposition: "preposition", clauseWord: "clause-word",
		bodySystem: "body-system",

		when: "when", amid: "amid", dreams: "dreams", modal: "modal",
		statesWay: "states-way", postedOn: "posted-on", topicLead: "topic-lead", until: "until", provided: "provided",
		dependsMay: "depends-may", toCome: "to-come", toComeLater: "to-come-later",
		weekday: "weekday", month: "month", showsFigures: "shows-figures", halfOfDay: "half-of-day", beforeHour: "before-hour", onTheClock: "on-the-clock", beforeNoon: "before-noon", afterNoon: "after-noon", minutes: "minutes", weeks: "weeks", beforeYear: "before-year",
		measure: "measure", countsOther: "counts-other", discontinued: "discontinued", labelTime: "label-time",
		howOften: "how-often", mayWord: "may", countedThing: "counted-thing",

		noAnswer: "no-answer", deniesAll: "denies-all", commandsNot: "commands-not", minor: "minor",
		trailing: "trailing",

		tells: "tells", tellsWhom: "tells-whom", tellBase: "tell-base", phones: "phones",
		phonesAbout: "phones-about", phonesBack: "phones-back", reaches: "reaches", beingTold: "being-told",
		informed:  "informed",
		keptState: "kept-state", keptPause: "kept-pause", keptBy: "kept-by", keptBusy: "kept-busy", turnsUp: "turns-up", goesOff: "goes-off", offHome: "off-home", hasWord: "has", otherRoom: "other-room", everyColleague: "every-colleague", aloneWord: "alone", onlyWord: "only",
		messageNoun: "message", receives: "receives", gives: "gives", passesOn: "passes-on", whatIsTold: "what-is-told", leadsToTold: "leads-to-told", byTherapist: "by-therapist", onWay: "on-way", acts: "acts", visits: "visits",
		says: "says", correction: "correction", isThere: "is-there",
		beingOrUsing: "being-or-using",

		reassesses: "reassesses", evaluation: "evaluation", examined: "examined", ofReview: "of-review", ofMobility: "of-mobility",

		beforeVerb: "before-verb", offers: "offers", went: "went", onFoot: "on-foot", managed: "managed",
		hadTo: "had-to", reportedTo: "reported-to", perfect: "perfect", toldSo: "told-so", putDown: "put-down", putBack: "put-back",
		turned: "turned", turnedWhat: "turned-what", carriedWhom: "carried-whom", walkedWhom: "walked-whom",
		needs: "needs", goesWith: "goes-with", changing: "changing", institution: "institution",
		fullSling: "full-sling", armWord: "arm-word", wheelchairWord: "wheelchair-word", powered: "powered", altered: "altered",
		wayOrManner: "way-or-manner", sideWord: "side-word", supervising: "supervising", alters: "alters",
		left: "left", right: "right", upright: "upright", rises: "rises", tries: "tries",
		leavesBehind: "leaves-behind", helpsVerb: "helps-verb", didWord: "did", reversed: "reversed", stepWord: "steps", onTheWay: "on-the-way", upOrOut: "up-or-out", wobbles: "wobbles", helpWord: "help-word", amountWord: "amount-word",

		copula: "copula", pastBe: "past-be", holdsAid: "holds-aid", seeks: "seeks", seekNoun: "seek-noun", putSomewhere: "put-somewhere", still: "still", there: "there", somewhere: "somewhere", notToHand: "not-to-hand",
		notToHandNoun: "not-to-hand-noun", toHand: "to-hand", nearResident: "near-resident", why: "why", takesAway: "takes-away", goesAway: "goes-away",
		leavesThere: "leaves-there", refuses: "refuses", wouldNot: "would-not", keepsIt: "keeps-it", waited: "waited", didNot: "did-not", wants: "wants", otherPeople: "other-people", aidPronoun: "aid-pronoun",

		aidGoods: "aid-goods", footrest: "footrest", notThere: "not-there", partHolder: "part-holder", looseParts: "loose-parts",

		handle: "handle", toHeight: "to-height", wrongHeight: "wrong-height", reachesTo: "reaches-to",

		upState: "up-state", upToOther: "up-to-other", notUp: "not-up", wakeUp: "wake-up", howLong: "how-long", upThere: "up-there",

		fallNoun: "fall-noun", afterFall: "after-fall", thatFall: "that-fall", wentOver: "went-over",
		thingFalls: "thing-falls", thingsFall: "things-fall", faints: "faints", faintTurn: "faint-turn", ordinal: "ordinal", droops: "droops", ontoBody: "onto-body", strikes: "strikes",
		elsewhere: "elsewhere", ache: "ache", wentDownBy: "went-down-by", slips: "slips",
		steadies: "steadies", goesDown: "goes-down", comesOff: "comes-off", offWhat: "off-what",
		opensDown: "opens-down", besidePlace: "beside-place", edgeOf: "edge-of", ontoWord: "onto-word", heavyThing: "heavy-thing", conveys: "conveys", besideFixture: "beside-fixture", fixture: "fixture", sitWord: "sit", thereWord: "there-word", heapNoun: "heap", floorNoun: "floor-noun", outdoorNoun: "outdoor-noun", seatNoun: "seat-noun", bodySide: "body-side", beWord: "be", lieWord: "lie", justThere: "just-there", findWord: "find", endsUp: "ends-up", wayDown: "way-down", wentWord: "went-word", wentFor: "went-for", lowers: "lowers", kinAddress: "kin-address", falling: "falling", attendWord: "attend", otherErrand: "other-errand", noneFound: "none", headNoun: "head-noun", blowWord: "blow", neverWord: "never", partOf: "part-of", onPart: "on-part", markNoun: "mark", looksAt: "looks-at", soundWord: "sound", liesAt: "lies-at", raisesWord: "raises", noBlow: "no-blow", offWord: "off-word", holdsHand: "holds-hand", risesSelf: "rises-self", limbNoun: "limb-noun", misshapen: "misshapen", crookedly: "crookedly", outwards: "outwards", turnsLimb: "turns-limb", limbLies: "limb-lies", amongLooks: "among-looks",
		wayBack: "way-back", ontoSeat: "onto-seat",

		hedge: "hedge", vitalsWord: "vitals-word",
		pressureWord: "pressure-word", standingLetters: "standing-letters",

		second: "second", pastime: "pastime", hence: "hence", thenWord: "then-word", restWord: "rest-word",
		noneWord: "none-word", signAbout: "sign-about", studentWord: "student", volunteerWord: "volunteer",
		kin: "kin", tablemate: "tablemate", besideStaff: "beside-staff", otherOf: "other-of", looksOn: "looks-on",
		inBetween: "in-between", withHelp: "with-help", footWord: "foot-word", caughtWord: "caught-word",
		passedOff: "passed-off", pushes: "pushes",

		soundsLikeTo: "sounds-like-to", soundsLikeBy: "sounds-like-by", soundsLikeKnow: "sounds-like-know", soundsLikeRight: "sounds-like-right", lets: "lets", feels: "feels", brakeNoun: "brake", brakeOn: "brake-on", brakeOff: "brake-off", restNoun: "rest-noun", restOn: "rest-on", restOff: "rest-off", worksWord: "works", otherBraked: "other-braked", takesOff: "takes-off", forgets: "forgets", nobodyWord: "nobody", ownWord: "own-body", hurtsWord: "hurts", strainsWord: "strains", growsWord: "grows", speaks: "speaks", hangsOn: "hangs-on", notAboutHere: "not-about-here", youngWord: "young", clippedWord: "clipped", findsBy: "finds-by", movesWord: "moves", goneWord: "gone", makesOff: "makes-off", nearBed: "near-bed", untilWord: "until-where", wheels: "wheels",
		joinsClause: "joins-clause", joinsAlike: "joins-alike", besideDoing: "beside-doing", keepsDoing: "keeps-doing",
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
