package paper

import (
	"strings"
	"testing"

	"ledgerwheel/domain/tongue"
)

// other says what the samples say in a language, at the length that it takes there.
var other = map[tongue.Tongue]struct {
	day, moment, locale, term, terms, covers, wind string
	work                                           []string
}{
	tongue.German: {"Donnerstag, 24. September 2026", "Donnerstag, 24. September 2026, 09:30 Uhr", "de-DE", "24 Monate",
		"Bitte bringen Sie diesen Abholschein mit, wenn Sie die Uhr abholen. Wir arbeiten bis zur vereinbarten Freigabegrenze und " +
			"fragen Sie, bevor wir darüber hinausgehen. Uhren, die ein Jahr nach unserer Abholbenachrichtigung nicht abgeholt sind, " +
			"werden behandelt, wie es das Gesetz vorsieht.",
		"Die auf dieser Karte genannten Arbeiten und eingebauten Teile. Nicht gedeckt: Wasser, Stöße, Abnutzung von Band oder Gehäuse " +
			"und Öffnen durch andere.", "Vollaufzug",
		[]string{"Vollständige Revision, in sechs Lagen reguliert", "Unruhwelle gedreht und Unruh ausgewuchtet",
			"Zugfeder, Krone, Aufzugswelle, Gehäusedichtungen", "Druckprüfung bei 3 bar, trocken"}},
	tongue.French: {"jeudi 24 septembre 2026", "jeudi 24 septembre 2026, 9 h 30", "fr-CH", "24 mois",
		"Merci de présenter ce bon lors du retrait de la montre. Nous travaillons jusqu’au plafond convenu et vous consultons avant de " +
			"le dépasser. Les montres non retirées un an après notre avis de mise à disposition sont traitées selon la loi.",
		"Les travaux indiqués sur cette carte et les pièces posées. Ne sont pas couverts : l’eau, les chocs, l’usure du bracelet ou de la " +
			"boîte et l’ouverture par des tiers.", "Pleine armure",
		[]string{"Révision complète, réglage en six positions", "Axe de balancier tourné, balancier équilibré",
			"Ressort de barillet, couronne, tige, joints de boîte", "Essai d’étanchéité à 3 bar, à sec"}},
}

// spokenSamples is one of each paper that a customer gets, in each language but English.
func spokenSamples() map[string]Paper {
	papers := map[string]Paper{}
	for _, t := range []tongue.Tongue{tongue.German, tongue.French} {
		o := other[t]
		for _, size := range []TicketSize{TicketA6, TicketRoll} {
			ticket := sampleTicket(size)
			ticket.Tongue, ticket.Lang, ticket.Received, ticket.Promised, ticket.Terms = t, o.locale, o.moment, o.day, []string{o.terms}
			ticket.ApprovalLimit, ticket.DeclaredValue = t.Say("paper.always_ask"), t.Say("paper.not_declared")
			papers[[]string{"ticket-a6-", "ticket-roll-"}[size]+string(t)] = ticket
		}
		v := sampleVisit()
		v.Tongue, v.Lang, v.Received, v.Count, v.Terms = t, o.locale, o.moment, t.Count("paper.count_of_watches", 3), []string{o.terms}
		for i := range v.Watches {
			v.Watches[i].Promised = o.day
		}
		papers["visit-"+string(t)] = v
		slip := sampleSlip()
		slip.Tongue, slip.Lang, slip.Out, slip.Due = t, o.locale, o.moment, ""
		papers["loan-slip-"+string(t)] = slip
		to := sampleAddress()
		to.Tongue, to.Lang = t, o.locale
		papers["address-label-"+string(t)] = to
		e := sampleEstimate()
		e.Tongue, e.Lang, e.Date, e.ValidUntil = t, o.locale, o.day, o.day
		e.HowTo, e.Notes = []string{t.Say("paper.or_tell_us"), t.Say("paper.if_you_decline")}, []string{t.Say("paper.superseded")}
		papers["estimate-"+string(t)] = e
		inv := sampleInvoice()
		inv.Tongue, inv.Lang, inv.Date, inv.DueDate = t, o.locale, o.day, t.Say("paper.on_collection")
		inv.HowToPay = []string{t.Say("paper.name_the_docket")}
		papers["invoice-"+string(t)] = inv
		inv.Settled = true
		papers["invoice-settled-"+string(t)] = inv
		b := sampleBulletin()
		b.Tongue, b.Lang, b.Date = t, o.locale, o.moment
		b.Rule = t.Say("paper.decision_rule", "rule", t.Say("paper.rule.guarded"))
		b.Notes = []string{t.Say("paper.bulletin.units"), t.Say("paper.bulletin.own_limits")}
		for i := range b.Runs {
			b.Runs[i].Name = []string{t.Say("run.as_received"), t.Say("run.final")}[i]
			b.Runs[i].States = []string{t.Say("wind.full"), t.Say("wind.after", "hours", "24")}
			for r := range b.Runs[i].Rows {
				b.Runs[i].Rows[r].Position.Words = t.Say("crown.1")
			}
		}
		for i, key := range []string{"mean_rate", "amplitude_loss", "isochronism", "least_horizontal_amplitude", "horizontal_less_vertical"} {
			b.Statistics[i].Name = t.Say("statistic."+key) + ", " + t.Say("wind.after", "hours", "24") + ", s/d"
			b.Statistics[i].Limit = t.Say("limit.between", "from", "−12,5", "to", "+12,5")
		}
		papers["bulletin-"+string(t)] = b
		tr := sampleTrial()
		tr.Tongue, tr.Lang, tr.Date = t, o.locale, o.moment
		tr.Simple = t.Say("paper.trial.simple", "standing", t.Say("standing.fail"))
		tr.Rule, tr.Notes = b.Rule, []string{t.Say("paper.trial.units"), t.Say("paper.trial.own")}
		for i := range tr.Days {
			tr.Days[i].Read, tr.Days[i].Position.Words = o.moment, t.Say("crown.1")
		}
		for i := range tr.Criteria {
			tr.Criteria[i].Name, tr.Criteria[i].SimpleWord = t.Say("criterion.largest_deviation"), t.Say("standing.fail")
			tr.Criteria[i].Formula = t.Say("formula.greatest_variation")
		}
		papers["trial-"+string(t)] = tr
		for name, card := range map[string]WarrantyCard{"card-": sampleWarranty(), "card-proven-": provenWarranty()} {
			card.Tongue, card.Lang, card.Term, card.Covers, card.WorkDone = t, o.locale, o.term, o.covers, o.work
			card.From, card.Until = strings.SplitN(o.day, " ", 2)[1], strings.SplitN(o.day, " ", 2)[1]
			card.RatesNote = t.Say("paper.card.rates_note", "wind", o.wind, "u", "0,6")
			card.Rates = append(card.Rates, CardRate{t.Say("paper.card.mean"), "+2,23", ""}, CardRate{t.Say("paper.card.delta"), "5,4", ""})
			papers[name+string(t)] = card
		}
	}
	return papers
}

// Each of the customer's papers in German and French: page, print and file say the same, nothing leaves its page or
// crosses, and what has a bound keeps to it: tickets one sheet, cards two faces of ID-1.
func TestPapersInOtherLanguages(t *testing.T) {
	t.Parallel()
	for name, p := range spokenSamples() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := laid(t, p)
			onlyRead, onlyDrawn := apart(letters(readOut(t, s)), letters(printed(s)))
			if onlyRead != "" || onlyDrawn != "" {
				t.Errorf("only read: %q; only printed: %q", onlyRead, onlyDrawn)
			}
			var all strings.Builder
			for _, b := range s.drawing.Boxes() {
				all.WriteString(b.Text + "\n")
			}
			pdf := pdfOf(t, name, p)
			file := run(t, "pdftotext", "-raw", onDisk(t, "paper", pdf), "-")
			if onlyFile, onlyDrawn := apart(letters(file), letters(all.String())); onlyFile != "" || onlyDrawn != "" {
				t.Errorf("only in the file: %q; only drawn: %q", onlyFile, onlyDrawn)
			}
			inside(t, p)
			if s.Overflows() {
				t.Errorf("%d pages", s.Pages())
			}
			if len(s.Lacking()) > 0 {
				t.Errorf("no type has %q", string(s.Lacking()))
			}
			if !strings.Contains(string(pdf), "/Lang ("+s.doc.lang+")") {
				t.Error("the file does not name its language")
			}
			// English words of the frame, none of which is German or French too; what is typed in the samples is left out.
			said := readOut(t, s)
			for _, word := range []string{"Claim ticket", "Promised for", "Declared value", "What you told us", "Work and parts", "Valid until",
				"How to approve", "Judged by", "Beat error", "How the verdicts", "not measured", "Warranty until", "Final rates", "Page ",
				"Bulletin of", "Due", "Scan to"} {
				if strings.Contains(said, word) {
					t.Errorf("%q is said in English", word)
				}
			}
		})
	}
}

// What stood in English stands there still: papers from before languages have no tongue.
func TestEnglishIsWhatNobodyChose(t *testing.T) {
	t.Parallel()
	for name, p := range map[string][2]Paper{
		"ticket":   {sampleTicket(TicketA6), func() Paper { c := sampleTicket(TicketA6); c.Tongue = tongue.English; return c }()},
		"estimate": {sampleEstimate(), func() Paper { e := sampleEstimate(); e.Tongue = tongue.English; return e }()},
		"card":     {sampleWarranty(), func() Paper { c := sampleWarranty(); c.Tongue = tongue.English; return c }()},
	} {
		if string(pdfOf(t, name+"-none", p[0])) != string(pdfOf(t, name+"-en", p[1])) {
			t.Errorf("%s: no language and English differ", name)
		}
	}
}
