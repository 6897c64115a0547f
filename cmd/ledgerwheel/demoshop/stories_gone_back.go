package demoshop

import (
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// goneBack are the watches that left or will leave unrepaired.
func (b *book) goneBack() {
	b.notWorthIt()
	b.thoughtTwice()
	b.declinedInShop()
	b.withdrawn()
}

func (b *book) notWorthIt() {
	b.open("quiggin-plated", arrival{back: 200, clock: "12:10", customer: "quiggin", watch: "quiggin plated",
		wanted:    docket.WantedRepair,
		complaint: "Found in a coat from the market. What would it take to have it going?", dueDays: 14,
		marks: []watch.ConditionMark{marked(watch.PartCase, watch.MarkWorn, 0.5, 0.5, "plating gone at the edges"),
			marked(watch.PartCrown, watch.MarkMissing, 0.93, 0.5, "")}}).
		on(199, "09:40").toBench().
		found(seen(diagnosis.CrownAndStem, "stem broken", diagnosis.Require, ""), seen(diagnosis.BalanceStaff, "pivot broken",
			diagnosis.Require, "Both."),
			seen(diagnosis.DialAndHands, "lume crumbling", diagnosis.Observe, "Surveyed: no more than background. Treated as "+
				"radium all the same.")).
		readCautions().
		move(staff.Watchmaker, docket.StageEstimate, safe, "Both balance pivots are broken: it can’t run.").
		on(198, "10:30").drafted("We would not spend this on it ourselves.", labour("Balance staff made and fitted", 24000),
		labour("Full service of the movement", 18500),
		material("Stem and crown", 3900)).
		sent().
		on(196, "18:20").answeredByLink(false, "Thank you for saying so. I’ll fetch it.").
		on(195, "09:20").declined().
		on(190, "12:30").collected(docket.OldPartsNone)
}

// thoughtTwice declined a first revision, and a cheaper second one too.
func (b *book) thoughtTwice() {
	b.open("penhallow-pocket", arrival{back: 60, clock: "11:15", customer: "penhallow", watch: "penhallow pocket",
		wanted:    docket.WantedRepair,
		complaint: "The lid springs open by itself, and it loses.", declared: 9000, dueDays: 20}).
		on(59, "10:00").toBench().
		found(seen(diagnosis.CaseAndSeals, "back thread worn", diagnosis.Advise, "And the catch of the lid is filed away."),
			seen(diagnosis.Train, "pivot worn or scored", diagnosis.Require, "Third wheel, upper.")).
		readCautions().
		after(40*minute).measured(timing.AsReceived, "12H and 9H too faint to hold",
		soundByGrade[timing.GradeVintage].dirty().wornPivots(), fullWind).
		diagnosed().
		on(58, "11:30").drafted("", labour("Full service of the movement", 22000), labour("Third wheel pivot burnished",
		6000), outside("Lid catch rebuilt, case maker", 14000)).
		sent().
		on(56, "20:15").answeredByLink(false, "Too dear for me. Is there less that would do?").
		on(55, "10:20").drafted("Without the case: the lid is held with a ribbon.", labour("Full service of the movement",
		22000)).
		sent().
		on(52, "21:05").answeredByLink(false, "I shall keep it as a keepsake after all.").
		on(51, "09:20").declined().
		on(46, "14:40").collected(docket.OldPartsNone)
}

func (b *book) declinedInShop() {
	b.open("ossett-wedding", arrival{back: 24, clock: "15:00", customer: "ossett", watch: "ossett wedding",
		wanted:    docket.WantedService,
		complaint: "A wedding present of 1971. The hands have come loose under the glass.", declared: 70000, dueDays: 20,
		marks: []watch.ConditionMark{unplaced(watch.PartBracelet, watch.MarkWorn, "two links stretched")}}).
		photographed(staff.Clerk, photo.OfCondition, smallGold, "As handed in").
		on(23, "09:30").toBench().
		found(seen(diagnosis.DialAndHands, "hands loose", diagnosis.Require, "Minute hand off its seat."),
			seen(diagnosis.MotionWork, "cannon pinion loose", diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", sound(ostrelle).dirty(), fullWind).
		diagnosed().
		on(22, "10:40").drafted("", labour("Full service of the small movement", 19500),
		labour("Cannon pinion tightened, hands fitted", 3500)).
		sent().
		on(15, "11:20").answered(false, "They will have the hands set by a friend. Told that we can’t warrant that.").
		declined()

	good := sound(brackendiv)
	b.open("nguyen-sport", arrival{back: 18, clock: "16:10", customer: "nguyen", watch: "nguyen sport",
		wanted:    docket.WantedRepair,
		complaint: "Knocks like a sewing machine for an hour after winding, and gains minutes. Serviced abroad last year.",
		declared:  140000, dueDays: 25}).
		photographed(staff.Clerk, photo.OfCondition, diverBlue, "As handed in").
		on(17, "09:20").toBench().
		found(seen(diagnosis.Mainspring, "wrong size fitted", diagnosis.Require, "A good deal too strong; the pin bears "+
			"on the back of the fork."),
			seen(diagnosis.BalanceStaff, "impulse jewel loose or chipped", diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "Knocking lying, at full wind", good.knocking(), bothDays).
		diagnosed().
		on(16, "11:10").drafted("The spring fitted elsewhere is too strong and has chipped the impulse jewel.",
		labour("Full service of the automatic movement", 29500),
		material("Mainspring", 4400), labour("Impulse jewel replaced and set", 8500)).
		sent().
		on(11, "22:35").answeredByLink(false, "I will go back to those who did it.").
		on(10, "09:15").declined()
}

func (b *book) withdrawn() {
	b.open("ellerby-dress", arrival{back: 80, clock: "12:45", customer: "ellerby", watch: "ellerby dress",
		wanted:    docket.WantedAdvice,
		complaint: "Inherited; wants to know what it is and whether it is sound.", declared: 450000, dueDays: 14}).
		photographed(staff.Clerk, photo.OfCondition, goldSilver, "As handed in").
		on(79, "09:40").inHands(staff.Owner).toBench().
		found(seen(diagnosis.Escapement, "sound", diagnosis.Observe, "")).
		on(77, "11:00").withdrawn("His sister wants it sold as it is. He collects it this week.").
		on(75, "13:20").collectedBy("Clemence Ellerby-Knott", docket.ShownPassport, "Mr Ellerby-Knott’s e-mail of this morning.",
		docket.OldPartsNone)

	good := sound(thackwood)
	b.open("adeyinka-father", arrival{back: 15, clock: "10:05", customer: "adeyinka", watch: "adeyinka father",
		wanted:    docket.WantedService,
		complaint: "His father’s surveying watch. Would like it to go again, but nothing changed that can be seen.",
		declared:  30000, dueDays: 45,
		marks: []watch.ConditionMark{unplaced(watch.PartDial, watch.MarkStain, "freckled; to stay so")}}).
		photographed(staff.Clerk, photo.OfCondition, fieldBlack, "As handed in").
		on(14, "09:30").toBench().
		found(seen(diagnosis.Jewels, "cracked", diagnosis.Require, "Lower balance jewel."), seen(diagnosis.Train, "dirty",
			diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty().wornPivots(), fullWind).
		diagnosed().
		on(13, "10:20").drafted("", labour("Full service of the movement", 18500), material("Balance jewel", 4100)).
		sent().
		on(12, "19:25").answeredByLink(true, "").
		on(11, "09:20").needs(piece("Balance jewel, lower", "TW10-306", stock.OldPartNone)).ordered(marrow,
		"Balance jewel").toParts().
		on(5, "15:50").withdrawn("His brother would rather have it repaired in Lagos, where the family is. The jewel is to " +
		"be cancelled if it can be.")
}
