package demoshop

// firstBack is how many working days ago the first watch of the demo came in, tellingBack how many when the year began
// whose dockets are told at length.
const (
	firstBack   = 606
	tellingBack = 296
)

// stories tells the two years at Tern Quay as steps in the order of time.
func stories(c calendar) []step {
	b := &book{calendar: c}
	b.firstYear()
	b.handedOver()
	b.warranted()
	b.goneBack()
	b.newcomers()
	b.beingPriced()
	b.waitingForParts()
	b.onTheBench()
	b.onTrial()
	b.nearlyDone()
	b.together()
	b.reorders()
	return b.inOrder()
}
