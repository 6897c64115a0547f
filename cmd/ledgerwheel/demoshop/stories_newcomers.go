package demoshop

import (
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// newcomers are the watches taken in lately and those under diagnosis.
func (b *book) newcomers() {
	b.open("ossett-daily", arrival{back: 2, clock: "16:35", customer: "ossett", watch: "ossett daily",
		wanted:    docket.WantedService,
		complaint: "Mr Ossett’s. Loses a quarter of an hour a day and is hard to wind.", dueDays: 30, unlooked: true})
	b.open("lukowska-small", arrival{back: 1, clock: "11:20", customer: "lukowska", watch: "lukowska small",
		wanted: docket.WantedRepair,
		byPost: &parcel.Arrival{Carrier: "Estuary Post", Number: "EP 4411 2209 GB", Sender: "A. Łukowska", Seal: parcel.SealWhole,
			Box: parcel.BoxDamaged, Things: 2, Contents: "watch\npadded box", Note: "One corner crushed; the padded box inside is whole."},
		complaint: "Stopped after a fall on tiles. Nothing rattles.", declared: 48000, limit: 12000, dueDays: 21,
		marks: []watch.ConditionMark{marked(watch.PartCrystal, watch.MarkChip, 0.38, 0.3, "at 10"),
			marked(watch.PartCase, watch.MarkScratch, 0.24, 0.55, "")}}).
		photographed(staff.Clerk, photo.OfCondition, steelCream, "As handed in; chip at 10")
	b.open("bareket-consul", arrival{back: 1, clock: "15:05", customer: "bareket", watch: "bareket consul",
		wanted:    docket.WantedService,
		complaint: "Bought at a fair last month; wants it gone through before she gives it to her son.", declared: 35000,
		dueDays: 35}).
		photographed(staff.Clerk, photo.OfCondition, steelBlack, "As handed in").
		photographed(staff.Clerk, photo.OfCondition, backScratched, "Back: key has slipped")
	b.open("bareket-merle", arrival{back: 1, clock: "15:40", customer: "bareket", watch: "bareket merle", with: "bareket-consul",
		wanted: docket.WantedService, complaint: "From the same fair. Stops when it is laid down.", declared: 22000, dueDays: 35})
	b.open("bareket-tideway", arrival{back: 1, clock: "15:52", customer: "bareket", watch: "bareket tideway", with: "bareket-consul",
		wanted: docket.WantedAdvice, complaint: "Her own. Gains; wants to know what it would cost.", declared: 52000, dueDays: 35}).
		lent("No marks; strap new.")

	good := sound(thackwood)
	b.open("tannock-navigator", arrival{back: 7, clock: "12:15", customer: "tannock", watch: "tannock navigator",
		wanted:    docket.WantedService,
		complaint: "The other one from his uncle. Runs, but he does not trust it at sea.", declared: 65000, dueDays: 30,
		marks: []watch.ConditionMark{marked(watch.PartDial, watch.MarkOther, 0.5, 0.4, "lume of the hands cracked"),
			unplaced(watch.PartCase, watch.MarkWorn, "")}}).
		photographed(staff.Clerk, photo.OfCondition, fieldBlack, "As handed in; not opened").
		on(6, "09:20").toBench().
		found(seen(diagnosis.DialAndHands, "lume crumbling", diagnosis.Require, "Survey meter rises at the glass. Not "+
			"opened until the glove box is free.")).
		readCautions(diagnosis.RadioactiveLume).
		after(1*hour).measured(timing.AsReceived, "Through the closed case", good.dirty(), fullWind).
		on(3, "10:00").put(staff.Watchmaker, safe)

	fine := sound(pellAuto)
	b.open("shiomi-tideway", arrival{back: 4, clock: "10:40", customer: "shiomi", watch: "shiomi tideway",
		wanted:    docket.WantedAdvice,
		complaint: "Suddenly fast: four minutes since Sunday. Kept beside a tablet with a magnetic lid.", declared: 52000,
		limit: 9000, dueDays: 12}).
		on(3, "09:25").toBench().
		readCautions().
		after(40*minute).measured(timing.AsReceived, "", fine.magnetised().going(188), fullWind)

	b.open("konstantinidou-diver", arrival{back: 29, clock: "13:05", customer: "konstantinidou",
		watch: "konstantinidou diver", wanted: docket.WantedService,
		complaint: "Θα ήθελα να καθαριστεί πριν από το καλοκαίρι. (Would like it cleaned before the summer.) Loses in the afternoon.",
		declared:  155000, dueDays: 20, marks: []watch.ConditionMark{marked(watch.PartCase, watch.MarkScratch, 0.5, 0.14,
			"bezel at 12")}}).
		photographed(staff.Clerk, photo.OfCondition, diverBlue, "As handed in").
		on(28, "09:15").inHands(staff.Owner).toBench().
		found(seen(diagnosis.Train, "pivot worn or scored", diagnosis.Require, "Fourth wheel, dial side."),
			seen(diagnosis.CaseAndSeals, "leaks at the dry test", diagnosis.Advise, "")).
		photographed(staff.Owner, photo.OfDiagnosis, movementRotor, "Before taking down").
		struck(diagnosis.CaseAndSeals, "The leak was the test bell’s own seal. Tested again: tight at 20 bar in air.").
		readCautions(diagnosis.Solvents).
		after(1*hour).measured(timing.AsReceived, "Falls off by the afternoon, as she says",
		sound(brackendiv).openPins().swinging(262), bothDays)
}
