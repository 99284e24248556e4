package lexicon

// A card that tells how to move somebody and is gone is told in any words: "the card over her bed saying how she moves is
// gone", "somebody has gone off with the transfer card". The wordings of the vocabulary come first.

// farthestGone is how many words may stand between a card and its being gone.
const farthestGone = 12

// cardGoneAt is where the words from the card at token i say that it is gone; to is 0 for nowhere.
func (r *reader) cardGoneAt(i int) (from, to int) {
	start := i
	if r.is(i, signAbout) && r.is(i+1, postedOn) {
		i++ // "transfer card"
	}
	if !r.is(i, postedOn) || r.is(i-1, byMeans) {
		return 0, 0
	}
	about, be := r.is(i-1, signAbout) || r.is(i, signAbout) && r.is(i, postedOn) && r.anyBetween(i+1, i+farthestGone, movesWord), false
	for k := i + 1; k < len(r.toks) && k <= i+farthestGone && r.signAt(k) != '.'; k++ {
		switch {
		case r.is(k, movesWord), r.is(k, signAbout), r.besideBed(k):
			about = true
		case r.is(k, statesWay) && r.word(k+1) != "how" && !r.is(k, beWord) && !r.is(k, hasWord):
			return 0, 0 // it is there and says something
		case be && r.deniesBeing(k-1) && r.is(k, there), be && (r.is(k, goneWord)):
			if about {
				return start, k + 1
			}
			return 0, 0
		case r.is(k, beWord), r.is(k, hasWord), r.deniesBeing(k):
			be = true
		case be && !r.is(k, justThere) && !r.is(k, still):
			be = false
		}
	}
	k := i - 1
	for k > 0 && (r.opensNoun(k) || r.is(k, signAbout)) {
		k--
	}
	// "gone off with the card", not "read off the card"
	if k >= 2 && r.word(k) == "with" && r.word(k-1) == "off" {
		k -= 2
	}
	if k >= 0 && r.is(k, makesOff) && (r.is(i-1, signAbout) || r.anyBetween(i+1, i+6, nearBed)) {
		return k, i + 1
	}
	return 0, 0
}

// besideBed reports whether the word at token k is where cards about moving are: "over her bed", "on the door".
func (r *reader) besideBed(k int) bool {
	return r.is(k, nearBed) && (r.opensNoun(k-1) || r.is(k-1, locates))
}
