package demoshop

// firstBack is how many working days ago the first watch of the demo came in.
const firstBack = 296

// stories tells the year at Tern Quay as steps in the order of time.
func stories(c calendar) []step {
	b := &book{calendar: c}
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
	return b.inOrder()
}
