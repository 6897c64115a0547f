package office

import (
	"cmp"
	"fmt"
	"net/http"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
)

func (s *Room) firstStepRoutes() []page.Route {
	return []page.Route{
		page.Get("/first-steps", page.Needs(staff.ManageSettings), s.showFirstSteps),
		page.Post("/first-steps/away", page.Needs(staff.ManageSettings), s.putStepsAway),
		page.Get("/first-steps/tax", page.Needs(staff.ManageSettings), s.showTax),
		page.Post("/first-steps/tax", page.Needs(staff.ManageSettings), s.sayTax),
		page.Get("/first-steps/print", page.Needs(staff.ManageSettings), s.showTestPrint),
		page.Get("/first-steps/print.pdf", page.Needs(staff.ManageSettings), s.sendTestPrint),
		page.Post("/first-steps/print", page.Needs(staff.ManageSettings), s.sayRuler),
	}
}

// stepPlaces say what each first step is called, what it is for and where it is done.
var stepPlaces = map[shop.StepKey]struct{ name, what, href string }{
	shop.StepPlace:   {"Time zone, currency, country", "Times, money and telephone numbers are read and written by them.", "/settings"},
	shop.StepAddress: {"Address and opening hours", "They stand on papers and in what customers are told.", "/settings"},
	shop.StepTax:     {"Tax", "Whether you charge any, and how much: invoices say it.", "/first-steps/tax"},
	shop.StepLogo:    {"Logo, or none", "At the head of papers and of the customer’s page.", "/settings/logo"},
	shop.StepPrint:   {"Test print", "Ticket, label and card come out in their true size, so that codes can be scanned.", "/first-steps/print"},
	shop.StepMail:    {"Mail", "So that customers are told by themselves; a test mail says whether it arrives.", "/mail"},
	shop.StepBackup:  {"A place for backups", "On another disk; every night, by itself.", "/backup"},
	shop.StepCalibre: {"First calibre", "A movement that you see often: beats per hour, lift angle, power reserve.", "/calibres/new"},
	shop.StepPrices:  {"Price list", "The jobs that you do at a price of your own: an estimate is drafted from them.", "/prices/new"},
	shop.StepPeople:  {"People", "Who else works here. Alone? Put the list away when the rest is done.", "/staff"},
	shop.StepWatch:   {"The first watch", "Take it in: ticket and label print in one go.", "/intake"},
}

// steps are the first steps as pages show them; nil where all are done, or where the owner put them away.
func (s *Room) steps(r *http.Request) (*firstStepsView, error) {
	viewer, _ := page.ViewerOf(r.Context())
	begun, err := s.store.Begun(r.Context())
	if err != nil {
		return nil, err
	}
	begun.Backed = begun.Backed || s.keeping.Nightly != ""
	v := &firstStepsView{Away: viewer.Shop.FirstStepsAway}
	for _, step := range viewer.Shop.FirstSteps(begun) {
		p := stepPlaces[step.Key]
		row := stepRow{Key: string(step.Key), Name: p.name, What: p.what, Href: p.href, Done: step.Done}
		if step.Key == shop.StepPlace {
			row.What = strings.Join([]string{viewer.Shop.TimeZone, viewer.Shop.Currency, viewer.Shop.PhoneRegion}, ", ") + "."
		}
		if !step.Done {
			v.Left++
			row.Next = v.Left == 1
		}
		v.Steps = append(v.Steps, row)
	}
	return v, nil
}

func (s *Room) showFirstSteps(w http.ResponseWriter, r *http.Request) error {
	v, err := s.steps(r)
	if err != nil {
		return err
	}
	return page.Render(w, r, http.StatusOK, firstStepsPage(s.Page(r, "First steps"), *v))
}

// saveStep saves settings that one of the first steps said.
func (s *Room) saveStep(w http.ResponseWriter, r *http.Request, sh shop.Shop, said string) error {
	if err := s.store.SaveShop(r.Context(), sh, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, "/first-steps")
}

// putStepsAway puts the list away, or takes it out again.
func (s *Room) putStepsAway(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	sh := viewer.Shop
	sh.FirstStepsAway = f.Text("away") != "no"
	if sh.FirstStepsAway {
		return s.saveStep(w, r, sh, "The list is put away. It stays at the end of the Owner page.")
	}
	return s.saveStep(w, r, sh, "The list is back.")
}

func (s *Room) showTax(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := page.ViewerOf(r.Context())
	f := page.EmptyForm()
	sh := viewer.Shop
	switch {
	case sh.TaxBasisPoints > 0:
		f.Values.Set("tax", "yes")
		f.Values.Set("tax_rate", estimate.FormatPercent(sh.TaxBasisPoints))
	case sh.TaxSaid:
		f.Values.Set("tax", "no")
	}
	f.Values.Set("tax_name", sh.TaxName)
	f.Values.Set("prices", "with")
	if !sh.PricesIncludeTax {
		f.Values.Set("prices", "without")
	}
	return page.Render(w, r, http.StatusOK, taxPage(s.Page(r, "Tax"), f.View()))
}

// sayTax takes an answer: no tax, or a rate above zero. Nothing is said by silence.
func (s *Room) sayTax(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	sh := viewer.Shop
	said := "Kept: you charge no tax."
	switch f.Text("tax") {
	case "no":
		sh.TaxBasisPoints = 0
	case "yes":
		if sh.TaxBasisPoints, err = estimate.ParsePercent(f.Text("tax_rate")); err != nil || sh.TaxBasisPoints == 0 {
			f.Fail("tax_rate", "Give the rate, above zero, such as 8.1 in per cent.")
		}
		if sh.TaxName = f.Text("tax_name"); sh.TaxName == "" {
			f.Fail("tax_name", "Give the name that the tax has on invoices, such as VAT.")
		}
		sh.PricesIncludeTax = f.Text("prices") != "without"
		said = "Kept: " + sh.TaxName + " " + estimate.FormatPercent(sh.TaxBasisPoints) + " %."
	default:
		f.Fail("tax", "Say whether you charge tax.")
	}
	f.FailAll(sh.Problems())
	if !f.OK() {
		return page.Render(w, r, http.StatusUnprocessableEntity, taxPage(s.Page(r, "Tax"), f.View()))
	}
	sh.TaxSaid = true
	return s.saveStep(w, r, sh, said)
}

// testPrint is the sheet with the ruler.
func testPrint(sh shop.Shop) paper.TestPrint {
	return paper.TestPrint{Shop: sh.Name, Lang: "en", Title: "Test print", Notes: []string{
		"From the first long mark to the last are 100 mm. Measure it with a ruler and write down what you find, to half a millimetre."}}
}

func (s *Room) showTestPrint(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := page.ViewerOf(r.Context())
	f := page.EmptyForm()
	if viewer.Shop.RulerMM > 0 {
		f.Values.Set("ruler_mm", figure.Plain(viewer.Shop.RulerMM))
	}
	return s.renderTestPrint(w, r, http.StatusOK, f)
}

func (s *Room) renderTestPrint(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	viewer, _ := page.ViewerOf(r.Context())
	sh := viewer.Shop
	papers, err := testPapers(sh)
	if err != nil {
		return err
	}
	v := testPrintView{Form: f.View(), Papers: papers}
	if sh.RulerMM > 0 {
		v.Says = scaleWords(sh.RulerMM)
	}
	return page.Render(w, r, status, testPrintPage(s.Page(r, "Test print"), v))
}

// scaleWords say what a measured ruler asks of the print dialogue.
func scaleWords(mm float64) string {
	scale := shop.PrintScale(mm)
	if scale == 100 {
		return fmt.Sprintf("Measured: %s mm. The printer is true: print at 100 %%.", figure.Plain(mm))
	}
	return fmt.Sprintf("Measured: %s mm. In the print dialogue set the scale to %d %%, not “fit to page”, and print the sheet again.", figure.Plain(mm), scale)
}

// testPapers are the papers that a printer is tried with.
func testPapers(sh shop.Shop) ([]samplePaper, error) {
	say := page.VoiceOf(tongue.Of(sh.Locale), sh)
	list := []samplePaper{{Name: "ruler", of: testPrint(sh)}, {Name: "claim ticket", of: sampleTicket(say)},
		{Name: "bag label", of: sampleLabel(sh)}, {Name: "warranty card", of: sampleCard(say)}}
	for i := range list {
		var err error
		if list[i].Sheets, err = paper.Set(list[i].of); err != nil {
			return nil, fmt.Errorf("test print, %s: %w", list[i].Name, err)
		}
	}
	return list, nil
}

// sampleLabel is the label of the invented watch's bag.
func sampleLabel(sh shop.Shop) paper.BagLabel {
	return paper.BagLabel{Shop: sh.Name, Lang: sh.Locale, Docket: sampleDocket, Code: sampleURL, Maker: "Halvorsen & Pike",
		Model: "Meridian", Serial: "HP 0418822"}
}

// sendTestPrint sends the ruler, or the paper that the query names.
func (s *Room) sendTestPrint(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := page.ViewerOf(r.Context())
	papers, err := testPapers(viewer.Shop)
	if err != nil {
		return err
	}
	name := cmp.Or(r.URL.Query().Get("paper"), papers[0].Name)
	samples, err := samplePapers(viewer.Shop) // the page of the logo shows these
	if err != nil {
		return err
	}
	for _, p := range append(papers, samples...) {
		if p.Name == name {
			return s.SendPaper(w, r, "test-"+strings.ReplaceAll(name, " ", "-"), p.of, s.Now())
		}
	}
	return domain.ErrNotFound
}

func (s *Room) sayRuler(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	sh := viewer.Shop
	mm := f.Decimal("ruler_mm", "mm")
	if mm == nil && f.OK() {
		f.Fail("ruler_mm", shop.RulerProblem(0))
	}
	if f.OK() {
		sh.RulerMM = *mm
		if why := shop.RulerProblem(*mm); why != "" {
			f.Fail("ruler_mm", why)
		}
	}
	if !f.OK() {
		return s.renderTestPrint(w, r, http.StatusUnprocessableEntity, f)
	}
	return s.saveStep(w, r, sh, scaleWords(sh.RulerMM))
}
