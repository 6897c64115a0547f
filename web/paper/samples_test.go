package paper

import (
	"bytes"
	"crypto/sha256"
	"encoding/base32"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

var out = flag.String("papers", "", "folder to write the sample papers to, for looking at")

// made is when the sample papers were made: any fixed moment serves.
var made = time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)

const (
	sampleDocket = "26-00042-K"
	sampleClaim  = "https://ternquay.example/claim/7Yq2mD0vXo4s9LrB1TnKfA"
	sampleCard   = "https://ternquay.example/card/TQ-26-0117?k=5b3Wn8Qe2xJtRz0c"
)

var sampleIssuer = Issuer{
	Name:      "Tern Quay Watch Works",
	Address:   []string{"7 Tern Quay", "Saltby SB1 4TQ"},
	Contact:   []string{"01632 960 117", "bench@ternquay.example"},
	TaxNumber: "VAT no. GB 000 0000 00",
}

var sampleWatch = []Field{
	{"Watch", "Halvorsen & Pike Meridian"}, {"Reference", "MR-214"}, {"Case no.", "HP 0418822"},
	{"Movement", "Calibre HP 27, no. 90114"}, {"Case", "Steel, 38 mm"}, {"Lume", "Radium (suspected)"},
}

func sampleTicket(size TicketSize) ClaimTicket {
	return ClaimTicket{
		Issuer: sampleIssuer, Size: size, Docket: sampleDocket, Code: sampleClaim, CodeWords: "Follow your watch",
		Customer: "Rosalind Achterberg", Watch: "Halvorsen & Pike Meridian",
		Details: []Field{{"Reference", "MR-214"}, {"Case no.", "HP 0418822"}, {"Strap", "brown leather"},
			{"Case", "steel, 38 mm"}},
		Complaint: "Stops when it lies on its back overnight, and gains a minute a day since it fell " +
			"on the kitchen floor in September.",
		Condition: "Light scratches on the crystal near 4; crown worn smooth; strap buckle bent.",
		Received:  "24 November 2026, 09:30", Promised: "Friday 18 December 2026",
		DeclaredValue: "£1,450.00", ApprovalLimit: "£180.00", TakenInBy: "Ines Calloway",
		Terms: []string{
			"Bring this ticket, or an identity paper with your name, to collect the watch. We hand it to whoever brings the " +
				"ticket unless you tell us otherwise.",
			"We begin no work beyond the amount above without your word. Watches not collected twelve months after we have " +
				"told you they are ready are dealt with as the law of the land provides.",
			"The declared value limits what our insurance pays for loss or damage while the watch is with us.",
		},
	}
}

func sampleVisit() VisitTicket {
	one := sampleTicket(TicketA6)
	t := VisitTicket{Issuer: sampleIssuer, Visit: "V-00042-D", Code: "https://ternquay.example/v/V00042D", Customer: one.Customer,
		Received: one.Received, Count: "3 watches", Terms: one.Terms, TakenInBy: one.TakenInBy}
	for i, watch := range []string{one.Watch, "Pellow Merle", "Skerry Tideway 200"} {
		t.Watches = append(t.Watches, TicketWatch{Docket: "26-0004" + strconv.Itoa(2+i) + "-K", Watch: watch, Details: "No. HP 0418822, brown leather",
			Complaint: "Stops when it lies on its back overnight.", Condition: "Light scratches on the crystal near 4",
			Promised: "Fri 18 Dec 2026", DeclaredValue: one.DeclaredValue, ApprovalLimit: one.ApprovalLimit})
	}
	return t
}

func sampleAddress() AddressLabel {
	return AddressLabel{Issuer: sampleIssuer, Docket: sampleDocket, To: []string{"Rosalind Achterberg", "Hafenstraße 12", "c/o Uhrenstube", "20457 Hamburg", "GERMANY"}}
}

func sampleSlip() LoanSlip {
	return LoanSlip{Issuer: sampleIssuer, Docket: sampleDocket, Customer: "Rosalind Achterberg", Watch: "Pellwarne Warden, serial L 1",
		State: "no marks; strap new", Value: "£120.00", Out: "24 November 2026, 09:30", Due: "Friday 18 December 2026", Deposit: "£20.00, cash", By: "Ines Calloway"}
}

func sampleLabel() BagLabel {
	return BagLabel{
		Shop: sampleIssuer.Name, Docket: sampleDocket, Maker: "Halvorsen & Pike", Model: "Meridian",
		Serial: "HP 0418822", Promised: "18 Dec 2026", Hazards: []string{"RADIUM"},
	}
}

func sampleDrawer(number string) DrawerLabel {
	return DrawerLabel{Shop: sampleIssuer.Name, PartNumber: number, Name: "Mainspring 1.20 × 0.11 mm", Place: "A 1", URL: "https://ternquay.example/stock/17", Code: "BIN17"}
}

func sampleDrawers() DrawerLabels {
	s := DrawerLabels{Shop: sampleIssuer.Name}
	for i := range 19 { // onto a second sheet
		s.Labels = append(s.Labels, sampleDrawer("MS-"+strconv.Itoa(120+i)))
	}
	return s
}

func sampleLines() []Line {
	return []Line{
		{"Full service", "dismantle, clean, oil, assemble, regulate in six positions", "1", "£165.00", "20 %", "£165.00"},
		{"Balance staff", "cal. HP 27, turned and poised", "1", "£68.00", "20 %", "£68.00"},
		{"Mainspring", "1.50 × 0.105 × 360 mm", "1", "£24.50", "20 %", "£24.50"},
		{"Crown and stem", "", "1", "£31.00", "20 %", "£31.00"},
		{"Case seals", "set of three", "1", "£12.00", "20 %", "£12.00"},
	}
}

func sampleTotals() []Total {
	return []Total{{"Net", "£300.50", false}, {"VAT 20 %", "£60.10", false}, {"Total", "£360.60", true}}
}

func sampleEstimate() Estimate {
	return Estimate{
		Issuer: sampleIssuer, Docket: sampleDocket, Revision: "2", Date: "26 November 2026", ValidUntil: "26 December 2026",
		Customer: []string{"Rosalind Achterberg", "14 Ropewalk Rise", "Saltby SB2 9RR"},
		Watch:    sampleWatch, Lines: sampleLines(), Totals: sampleTotals(),
		ApprovalURL: "https://ternquay.example/estimate/9Kd0b7TzPq3vYw1LxNe5Uc",
		HowTo: []string{
			"Or tell us at the counter or by telephone, naming the revision. We then write down who approved, when and which revision.",
			"If you decline, the watch goes back to you as it came; diagnosis is free of charge.",
		},
		Notes: []string{"The lume on hands and dial is radium. We leave it untouched and seal the case; no work on it is included."},
	}
}

func sampleNotice() Notice {
	return Notice{Issuer: sampleIssuer, Docket: sampleDocket, Date: "24 November 2026", Title: "Your watch waits for you",
		Addressee: []string{"Rosalind Achterberg", "12 Lamp Lane", "Saltby"}, Paragraphs: []string{"Dear Rosalind Achterberg,",
			"Your watch, Halvorsen & Pike Meridian, docket 26-00042-K, has been ready to collect since 3 November 2026.",
			"The sum due is £158.40.", "Please collect it with your claim ticket, or tell us how we may get it to you."}}
}

func sampleReceipt() Receipt {
	return Receipt{Issuer: sampleIssuer, Docket: sampleDocket, Date: "24 November 2026, 09:30", Customer: "Rosalind Achterberg",
		Watch: "Halvorsen & Pike Meridian",
		Left: []Field{{"Handed over", "24 November 2026, 09:30"}, {"To", "Rosalind Achterberg"},
			{"Old parts", "returned with the watch"}},
		Payments: []Payment{{"12 November 2026, 11:04", "Bank transfer", "£100.00"},
			{"24 November 2026, 09:30", "Cash", "£58.40 (£60.00 given, £1.60 change)"}},
		Totals: []Field{{"Total charge", "£158.40"}, {"of which VAT 20 %", "£26.40"}}, Paid: "£158.40",
		Standing: "Paid in full, nothing due.", Notes: []string{"The invoice has the same number as this receipt."}}
}

func sampleVisitReceipt() VisitReceipt {
	return VisitReceipt{Issuer: sampleIssuer, Visit: "V-00042-D", Date: "24 November 2026, 09:30", Customer: "Rosalind Achterberg",
		Watches: []ReceiptWatch{{sampleDocket, "Halvorsen & Pike Meridian", "Handed over 24 November 2026, 09:30 to Rosalind Achterberg.", "£158.40", "£158.40"},
			{"26-00043-4", "Corrie Skiff", "Handed over 24 November 2026, 09:30 to Rosalind Achterberg.", "£80.00", "£80.00"}},
		Payments: []Payment{{"24 November 2026, 09:30", "Cash", "£138.40 (£140.00 given, £1.60 change)"}, {"24 November 2026, 09:30", "Card", "£100.00"}},
		Totals:   []Field{{"Total charge", "£238.40"}, {"of which VAT 20 %", "£39.73"}}, Paid: "£238.40",
		Standing: "Paid in full, nothing due.", Notes: []string{"Each watch has an invoice of its own, with the number in the first column.",
			"Still in the shop, on the same ticket: 26-00044-2 Pellow Merle."}}
}

func onRoll(r Receipt) Receipt {
	r.Roll, r.WrittenDown = true, true
	return r
}

func visitOnRoll(r VisitReceipt) VisitReceipt {
	r.Roll = true
	return r
}

func sampleTillDay() TillDay {
	return TillDay{Issuer: sampleIssuer, Day: "Tue 24 Nov 2026", Closed: "Counted and closed by Nuala Reed, 24 Nov 2026, 17:34",
		Takings: []Field{{"Cash", "£138.40"}, {"Card", "£420.00"}}, Cash: []Field{{"In the morning", "£100.00"}, {"Taken in cash", "£138.40"}, {"Put in, less taken out", "−£90.00"},
			{"Cash by the book", "£148.40"}, {"Counted", "£147.40"}}, Difference: "£1.00 too little", Why: "A coin rolled away.",
		Pieces:   []TillPieces{{"£20.00", "7", "£140.00"}, {"£1.00", "7", "£7.00"}, {"£0.20", "2", "£0.40"}},
		Payments: []TillLine{{"09:30", sampleDocket, "Cash", "Nuala Reed", "£138.40"}, {"11:02", "26-00043-4", "Card", "Nuala Reed", "£420.00"}},
		Moves:    []TillLine{{"16:40", "", "Taken to the bank: slip 118", "Nuala Reed", "−£90.00"}}}
}

func sampleInvoice() Invoice {
	return Invoice{
		Issuer: sampleIssuer, Number: "2026-0389", Docket: sampleDocket, Date: "17 December 2026", DueDate: "on collection",
		Customer: []string{"Rosalind Achterberg", "14 Ropewalk Rise", "Saltby SB2 9RR"},
		Watch:    sampleWatch[:3], Lines: sampleLines(), Totals: sampleTotals(),
		Payments: []Payment{{"26 November 2026", "Deposit, card", "£100.00"}},
		Due:      "£260.60", HowToPay: []string{"Payable by card, cash or bank transfer when you collect the watch; " +
			"please name the docket."},
	}
}

// sampleReverse is a bill to a firm abroad, who owes the tax.
func sampleReverse() Invoice {
	v := sampleInvoice()
	v.Issuer.TaxNumber = "MwSt-Nr. CHE-100.155.212 MWST · Steuernummer 12/345/67890"
	v.Lang, v.Tongue = "de-CH", "de"
	v.Customer = append(v.Customer, "MwSt-Nr. DE136695976")
	v.Totals = []Total{{"Posten zusammen", "CHF 360.60", false}, {"MwSt nicht berechnet", "−CHF 60.10", false}, {"Gesamtbetrag", "CHF 300.50", true}}
	v.Sentence = "Steuerschuldnerschaft des Leistungsempfängers. Leistungsort nach Artikel 44 der Richtlinie 2006/112/EG."
	v.Payments, v.Due = nil, "CHF 300.50"
	return v
}

func samplePositions() []Position {
	return []Position{
		{Symbol: "CH", Words: "dial up", Lies: DialUp}, {Symbol: "FH", Words: "dial down", Lies: DialDown},
		{Symbol: "3H", Words: "crown up", Lies: CrownUp}, {Symbol: "6H", Words: "crown left", Lies: CrownLeft},
		{Symbol: "9H", Words: "crown down", Lies: CrownDown}, {Symbol: "12H", Words: "crown right", Lies: CrownRight},
	}
}

func sampleRun(name string, full, later [6]float64, u float64) Run {
	run := Run{
		Name: name, States: []string{"Full wind", "After 24 h"},
		Facts: []Field{{"Taken", "15 December 2026, 11:20"}, {"By", "Tomas Lindqvist"},
			{"Instrument", "Recorder 2, +1.8 ppm"}, {"Temperature", "22.5 °C"}},
	}
	for i, p := range samplePositions() {
		row := RunRow{Position: p}
		for state, rates := range [][6]float64{full, later} {
			row.Readings = append(row.Readings, Reading{
				Measured: true, Rate: signed(rates[i], 0.1), RateU: signed(u, 0.1)[1:],
				Amplitude: []string{"296", "292", "268", "271", "266", "270", "251", "249", "228", "231", "226", "229"}[i+6*state],
				BeatError: "0.2", RateSPerDay: rates[i], USPerDay: u,
			})
		}
		run.Rows = append(run.Rows, row)
	}
	return run
}

func sampleOrder() Order {
	return Order{Issuer: sampleIssuer, Code: "2026-014", Date: "24 November 2026", Account: "TQ 118", Supplier: []string{"Coldharbour Watch Materials", "2 Malt Lane", "Brindlehaven"},
		Lines:  []OrderLine{{"CH MS-120", "Mainspring 1.20 × 0.11 mm", "", "4", "£6.40", "£25.60"}, {"DC-140 G", "Case gasket", sampleDocket, "1", "£4.10", "£4.10"}},
		Totals: []Total{{"Total without tax", "£29.70", true}}, Notes: []string{"Please send together."}}
}

// sampleSeal has the length and the letters of a real one.
func sampleSeal() Seal {
	seal := "ledgerwheel/0123456789abcdef\n1234\nq83vASNFZ4kAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\ntime 2026-11-30T20:00:00Z\n\n" +
		"— ledgerwheel/0123456789abcdef 5sSvQ" + strings.Repeat("Ab3+/x", 14) + "Q==\n"
	return Seal{Issuer: sampleIssuer, Short: "abcd ef01 2345 6789", Facts: []Field{{"Sealed", "30 Nov 2026, 20:00 UTC"}, {"Over", "1,234 entries"}},
		Code: seal, Text: strings.Split(strings.TrimSpace(seal), "\n"),
		Notes: []string{"Keep it where nobody reaches it who can reach the program."}}
}

func sampleBulletin() Bulletin {
	before := sampleRun("As received", [6]float64{21.4, 18.2, -6.3, 4.9, 32.8, 14.1}, [6]float64{15.2, 11.9, -19.4, -8.8,
		24.0, 2.2}, 1.4)
	before.Rows[3].Readings[1] = Reading{}
	after := sampleRun("Final", [6]float64{3.2, 2.1, -0.8, 1.4, 4.6, 2.9}, [6]float64{1.8, 0.6, -3.9, -1.2, 3.1, 0.4}, 0.6)
	return Bulletin{
		Issuer: sampleIssuer, Docket: sampleDocket, Date: "15 December 2026", Watch: sampleWatch[:4],
		Mark: Fail, Verdict: "The final run keeps its mean and its balance between positions. It loses too much after 24 " +
			"h, and whether its greatest difference keeps the limit cannot be told at this uncertainty.",
		Rule: "Each figure y carries an expanded uncertainty U (k = 2, about 95 %). Guarded acceptance with guard band w " +
			"= U (JCGM 106): " +
			"pass if the whole interval from y − U to y + U lies inside the limits, fail if it lies outside them, otherwise undecided.",
		LimitsName: "rate limits “modern”, version 3", Limits: Limits{true, -4, 6},
		Runs: []Run{before, after},
		Statistics: []Statistic{
			{Name: "Mean rate, s/d", Values: []string{"+14.2 ± 0.6", "+2.2 ± 0.3"}, Limit: "−4 to +6", Judged: true, Mark: Pass},
			{Name: "Greatest difference, s/d", Values: []string{"39.1 ± 2.0", "5.4 ± 0.8"}, Limit: "6", Judged: true,
				Mark: Undecided},
			{Name: "Vertical less horizontal, s/d", Values: []string{"−8.4 ± 1.2", "−0.6 ± 0.5"}, Limit: "±5", Judged: true,
				Mark: Pass},
			{Name: "Isochronism, s/d", Values: []string{"−9.9 ± 1.1", "−2.9 ± 0.5"}, Limit: "±2", Judged: true, Mark: Fail},
			{Name: "Amplitude loss, dial to crown", Values: []string{"26°", "25°"}},
			{Name: "Power reserve, h", Values: []string{"", ""}, Limit: "at least 42", Judged: true, Mark: NotMeasured},
		},
		Notes:      []string{"Poised at the rim opposite 7; beat set; oiled anew throughout."},
		Signatures: []string{"Watchmaker", "Owner", "Date"},
	}
}

func sampleTrial() TrialBulletin {
	b := TrialBulletin{
		Issuer: sampleIssuer, Docket: sampleDocket, Date: "15 December 2026", Watch: sampleWatch[:4],
		Plan: []Field{{"Category", "1"}, {"Began", "24 November 2026"}}, Mark: Undecided,
		Verdict: "Six of seven criteria are kept; one cannot be told.", Simple: "By simple acceptance all are kept.",
		Rule: "Decision rule: guarded acceptance.", Notes: []string{"The shop ran this trial itself."},
		Signatures: []string{"Watchmaker", "Date"},
		Criteria: []TrialCriterion{{Symbol: "M", Name: "Mean daily rate", Formula: "mean of E1 to E10",
			Value: "+2.10 ± 0.20 s/d", Limits: "−4 to +6 s/d", Simple: Pass, SimpleWord: "pass", Guarded: Pass},
			{Symbol: "V", Name: "Mean variation", Formula: "mean of the differences", Limits: "2 s/d", Guarded: Undecided,
				GuardedWord: "spoilt"}},
	}
	for i := range 15 {
		b.Days = append(b.Days, TrialDay{Number: strconv.Itoa(i + 1), Position: samplePositions()[i%6], Asked: "23",
			Was: "23.1", Rate: "+2.1 ± 0.4", Read: "24 Nov, 08:30", Note: []string{"", "read late"}[i%2]})
	}
	return b
}

func sampleWarranty() WarrantyCard {
	return WarrantyCard{
		Issuer: sampleIssuer, Number: "TQ-26-0117", Docket: sampleDocket, Watch: "Halvorsen & Pike Meridian",
		Serials: []Field{{"Reference", "MR-214"}, {"Case no.", "HP 0418822"}, {"Movement", "HP 27 no. 90114"},
			{"Dial", "radium lume"}},
		WorkDone: []string{"Full service, regulated in six positions", "Balance staff turned and poised",
			"Mainspring, crown and stem, seals", "Pressure tested at 3 bar, dry"},
		Rates: []CardRate{
			{"CH", "+3.2", "296"}, {"FH", "+2.1", "292"}, {"3H", "−0.8", "268"}, {"6H", "+1.4", "271"}, {"9H", "+4.6", "266"},
			{"12H", "+2.9", "270"},
		},
		RatesNote: "Full wind, ± 0.6 s/d (k = 2)", Term: "24 months", From: "17 Dec 2026", Until: "17 Dec 2028",
		Covers: "Faults of the work and parts named here. Not covered: wear of the strap, damage by force, water beyond " +
			"the tested pressure, or work by others.",
		Code: sampleCard,
	}
}

// provenWarranty is a card whose code holds as much as any may: an address of 100 bytes and 416 bytes of signed facts, as
// domain/warranty bounds both, which no shorter card exceeds.
func provenWarranty() WarrantyCard {
	c := sampleWarranty()
	c.Code = "https://" + strings.Repeat("a-long-name.", 7) + "ex/card#"
	c.Code = c.Code[:8] + strings.Repeat("x", 100-len(c.Code)) + c.Code[8:]
	var facts []byte
	for i := 0; len(facts) < 416; i++ {
		sum := sha256.Sum256([]byte{byte(i)})
		facts = append(facts, sum[:]...)
	}
	c.Proof, c.Key = base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(facts[:416]), "0123 4567 89ab cdef"
	c.Number, c.CheckAt = "ABCD-EFGH-IJKL-MNOP", "ternquay.example/w"
	return c
}

func sampleBenchSheet() BenchSheet {
	s := BenchSheet{Shop: sampleIssuer.Name, Notes: []string{"Open the bench view of a docket, then scan what is to be done."}}
	for _, words := range [][3]string{{"NEXT", "Next position", "Goes on."}, {"BACK", "Back", "Goes back."},
		{"LISTEN", "Listen", "Begins to listen, or stops."}, {"UNDO", "Undo", "Takes the last act back."},
		{"FULL", "Full wind", "Readings at full wind."}, {"DAY", "After 24 h", "Readings a day later."},
		{"KEEP", "Keep", "Keeps the run. To a question: yes, it is so."}, {"TEST", "Test", "Shows whether it is set up."},
		{"CH", "CH", "Dial up."}, {"FH", "FH", "Dial down."}, {"3H", "3H", "Crown up."}, {"6H", "6H", "Crown left."},
		{"9H", "9H", "Crown down."}, {"12H", "12H", "Crown right."}} {
		s.Codes = append(s.Codes, BenchCode{Code: "BENCH" + words[0], Says: words[1], Does: words[2]})
	}
	return s
}

func sampleLetter() Letter {
	return Letter{Issuer: sampleIssuer, Lang: "de", Docket: sampleDocket, Date: "24. November 2026",
		Customer: []string{"Rosalind Achterberg", "3 Ropewalk", "Saltby"}, Subject: "Ihre Uhr ist fertig, Auftrag " + sampleDocket,
		Paragraphs: []string{"Guten Tag Rosalind Achterberg,", "Ihre Halvorsen & Pike Meridian ist fertig. Sie können sie abholen.",
			"Noch zu zahlen: £120.00", "Bitte bringen Sie Ihren Abholschein mit."}}
}

// samples is one of each paper, by the name of its file.
func samples() map[string]Paper {
	return map[string]Paper{
		"ticket-a6": sampleTicket(TicketA6), "ticket-visit": sampleVisit(), "loan-slip": sampleSlip(), "address-label": sampleAddress(), "ticket-roll": sampleTicket(TicketRoll), "label": sampleLabel(), "drawer-label": sampleDrawer("MS-120"), "drawer-labels": sampleDrawers(),
		"estimate": sampleEstimate(), "invoice": sampleInvoice(), "invoice-reverse": sampleReverse(), "receipt": sampleReceipt(), "receipt-visit": sampleVisitReceipt(), "receipt-roll": onRoll(sampleReceipt()), "receipt-visit-roll": visitOnRoll(sampleVisitReceipt()), "till-day": sampleTillDay(), "notice": sampleNotice(), "bulletin": sampleBulletin(),
		"card": sampleWarranty(), "card-proven": provenWarranty(), "trial": sampleTrial(),
		"codes": sampleBenchSheet(), "letter": sampleLetter(),
		"order": sampleOrder(), "seal": sampleSeal(),
		"ruler": TestPrint{Shop: sampleIssuer.Name, Title: "Test print", Notes: []string{"From the first long mark to the last are 100 mm: measure it with a ruler."}},
	}
}

// pdfOf sets a paper and, if asked, leaves it in the folder of -papers too.
func pdfOf(t testing.TB, name string, m Paper) []byte {
	t.Helper()
	pdf, err := PDF(m, made, nil)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if *out != "" {
		if err := os.WriteFile(filepath.Join(*out, name+".pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return pdf
}

func TestReproducible(t *testing.T) {
	t.Parallel()
	for name, m := range samples() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			first, second := pdfOf(t, name, m), pdfOf(t, name, m)
			if !bytes.Equal(first, second) {
				t.Error("two settings of the same paper differ")
			}
		})
	}
}
