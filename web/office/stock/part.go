package stock

import (
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/money"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

func (s *Room) showNew(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := page.ViewerOf(r.Context())
	f := page.EmptyForm()
	f.Values.Set("unit", "piece")
	f.Values.Set("tax_rate", estimate.FormatPercent(viewer.Shop.TaxBasisPoints))
	return s.renderEdit(w, r, http.StatusOK, store.PartStock{}, f)
}

func (s *Room) partOf(r *http.Request) (store.PartStock, error) {
	id, err := page.PathID(r, "id")
	if err != nil {
		return store.PartStock{}, err
	}
	return s.store.PartStock(r.Context(), id, 0)
}

func (s *Room) showEdit(w http.ResponseWriter, r *http.Request) error {
	p, err := s.partOf(r)
	if err != nil {
		return err
	}
	suppliers, err := s.store.Suppliers(r.Context())
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	f.Values.Set("sources", sourceWords(p.Sources, suppliers))
	for name, value := range map[string]string{"number": p.Number, "name": p.Name, "unit": p.Unit, "drawer": p.Drawer, "fits": strings.Join(p.Fits, "\n"),
		"tax_rate": estimate.FormatPercent(p.TaxBasisPoints), "version": page.Itoa64(p.Version)} {
		f.Values.Set(name, value)
	}
	for name, minor := range map[string]*int64{"cost": p.CostMinor, "price": p.PriceMinor} {
		if minor != nil {
			f.Values.Set(name, money.Plain(*minor, p.Currency))
		}
	}
	if p.ReorderAt != nil {
		f.Values.Set("reorder_at", strconv.Itoa(*p.ReorderAt))
		f.Values.Set("reorder_to", strconv.Itoa(p.ReorderTo))
	}
	if p.Ages {
		f.Values.Set("ages", "yes")
	}
	return s.renderEdit(w, r, http.StatusOK, p, f)
}

// renderEdit shows the form of a part of the catalogue; a zero p is one to be added.
func (s *Room) renderEdit(w http.ResponseWriter, r *http.Request, status int, p store.PartStock, f *page.Form) error {
	viewer, _ := page.ViewerOf(r.Context())
	v := editView{Form: f.View(), Action: "/stock/new", Title: "New part", Currency: viewer.Shop.Currency, TaxName: viewer.Shop.TaxName,
		IncludesTax: viewer.Shop.PricesIncludeTax}
	if p.ID != 0 {
		v.Action, v.Title = partURL(p.ID, "edit"), p.Title()
	}
	return page.Render(w, r, status, editPage(s.Page(r, v.Title), v))
}

func (s *Room) addPart(w http.ResponseWriter, r *http.Request) error {
	return s.keep(w, r, store.PartStock{})
}

func (s *Room) savePart(w http.ResponseWriter, r *http.Request) error {
	p, err := s.partOf(r)
	if err != nil {
		return err
	}
	return s.keep(w, r, p)
}

// keep saves what was typed of a part that stood as was.
func (s *Room) keep(w http.ResponseWriter, r *http.Request, was store.PartStock) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	p := readPart(r, f, was.Part)
	suppliers, err := s.store.Suppliers(r.Context())
	if err != nil {
		return err
	}
	var wrong string
	if p.Sources, wrong = typedSources(f.Raw("sources"), suppliers); wrong != "" {
		f.Fail("sources", wrong)
	}
	f.FailAll(p.Problems())
	id := int64(0)
	if f.OK() {
		id, err = s.store.SavePart(r.Context(), p, f.ID("version"), page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderEdit(w, r, http.StatusUnprocessableEntity, was, f)
	}
	s.Say(r.Context(), p.Number+" is saved.")
	return page.SeeOther(w, r, partURL(id, ""))
}

// readPart reads a part as typed over how it stood.
func readPart(r *http.Request, f *page.Form, p ledger.Part) ledger.Part {
	viewer, _ := page.ViewerOf(r.Context())
	p.Number, p.Name, p.Unit, p.Drawer, p.Fits = f.Text("number"), f.Text("name"), f.Text("unit"), f.Text("drawer"), strings.Split(f.Raw("fits"), "\n")
	p.Currency, p.IncludesTax, p.Ages = viewer.Shop.Currency, viewer.Shop.PricesIncludeTax, f.Checked("ages")
	p.CostMinor, p.PriceMinor = f.Amount("cost", p.Currency, viewer.Shop.Locale), f.Amount("price", p.Currency, viewer.Shop.Locale)
	p.TaxBasisPoints, p.ReorderAt, p.ReorderTo = 0, nil, 0
	if f.Text("tax_rate") != "" {
		var err error
		if p.TaxBasisPoints, err = estimate.ParsePercent(f.Text("tax_rate")); err != nil {
			f.Fail("tax_rate", "Give a rate of tax from 0 to 100 %, with at most two decimals.")
		}
	}
	if f.Text("reorder_at") != "" {
		at := f.Int("reorder_at")
		p.ReorderAt, p.ReorderTo = &at, f.Int("reorder_to")
	}
	return p.Tidied()
}
