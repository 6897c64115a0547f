package orders

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) showOrder(w http.ResponseWriter, r *http.Request) error {
	return s.renderOrder(w, r, http.StatusOK, "", page.EmptyForm())
}

// changeOf is the change of the order that the address names, as the form saw it.
func (s *Room) changeOf(w http.ResponseWriter, r *http.Request) (*page.Form, store.OrderChange, error) {
	id, err := page.PathID(r, "id")
	if err != nil {
		return nil, store.OrderChange{}, err
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return nil, store.OrderChange{}, err
	}
	return f, store.OrderChange{ID: id, Version: f.ID("version"), Today: s.Today(r), By: page.Actor(r), At: s.Now()}, nil
}

// settle answers what a form of an order's page led to; name is the form that is shown again where it is refused.
func (s *Room) settle(w http.ResponseWriter, r *http.Request, name string, f *page.Form, err error, said string) error {
	if errors.Is(err, domain.ErrChanged) {
		return s.renderOrder(w, r, http.StatusConflict, name, f)
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderOrder(w, r, http.StatusUnprocessableEntity, name, f)
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, orderURL(id, ""))
}

// The names of the forms of an order's page.
const (
	formDraft   = "draft"
	formCame    = "came"
	formWrong   = "wrong"
	formHeard   = "heard"
	formAgain   = "again"
	formKept    = "kept"
	formCount   = "miscounted"
	formPromise = "promise"
)

// typedLine is a line of the form, and where it stood there.
type typedLine struct {
	purchase.Line
	at string // the name of its fields, before the point
}

// typedLines reads the lines of a draft as typed, without those that are taken off.
func (s *Room) typedLines(r *http.Request, f *page.Form, o store.Order) ([]typedLine, error) {
	var lines []typedLine
	for _, typed := range f.Values["line"] {
		id, err := strconv.ParseInt(typed, 10, 64)
		if err != nil {
			return nil, page.BadRequest(err)
		}
		at := "line-" + typed
		if f.Checked(at + ".off") {
			continue
		}
		lines = append(lines, typedLine{s.readLine(r, f, at, o.Currency), at})
		lines[len(lines)-1].ID = id
	}
	fresh := s.readLine(r, f, "new", o.Currency)
	if typed := f.Text("new.drawer"); typed != "" {
		if err := s.fromCatalogue(r, f, typed, &fresh, o); err != nil {
			return nil, err
		}
	}
	if fresh.PartID != 0 || fresh.Description != "" || fresh.Number != "" {
		lines = append(lines, typedLine{fresh, "new"})
	}
	return lines, nil
}

func (s *Room) readLine(r *http.Request, f *page.Form, at, currency string) purchase.Line {
	l := purchase.Line{Number: f.Text(at + ".number"), Description: f.Text(at + ".description")}
	if f.Text(at+".pieces") != "" {
		l.Pieces = f.Int(at + ".pieces")
	}
	l.CostMinor = f.Amount(at+".cost", currency, page.LocaleOf(r))
	return l
}

// fromCatalogue fills in what was left empty of a new line from the part of the catalogue that was typed.
func (s *Room) fromCatalogue(r *http.Request, f *page.Form, typed string, l *purchase.Line, o store.Order) error {
	found, err := s.store.Catalogue(r.Context(), typed, "", false)
	if err != nil {
		return err
	}
	p, choices, ok := ledger.Chosen(found.Plain(), typed)
	switch {
	case ok:
	case len(choices) > 0:
		f.Fail("new.drawer", "More than one part is called so: type the number.")
		return nil
	default:
		f.Fail("new.drawer", "No part of the catalogue is called so.")
		return nil
	}
	l.PartID = p.ID
	if l.Description == "" {
		l.Description = p.Number + " " + p.Name
	}
	if l.CostMinor == nil && p.Currency == o.Currency {
		l.CostMinor = p.CostMinor
	}
	return nil
}

// saveDraft keeps a draft as typed and, where that was asked, sends it.
func (s *Room) saveDraft(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeOf(w, r)
	if err != nil {
		return err
	}
	o, err := s.store.Order(r.Context(), c.ID)
	if err != nil {
		return err
	}
	typed, err := s.typedLines(r, f, o)
	if err != nil {
		return err
	}
	way := purchase.Way(f.Text("way"))
	if f.Text("do") == "send" {
		f.FailAll(purchase.WayProblems(way, o.Supplier.Email))
		if len(typed) == 0 {
			f.Fail("lines", "Put at least one part on it.")
		}
	}
	if !f.OK() {
		return s.settle(w, r, formDraft, f, nil, "")
	}
	lines := make([]purchase.Line, len(typed))
	for i, l := range typed {
		lines[i] = l.Line
	}
	err = renamed(s.store.SaveOrder(r.Context(), c, lines, f.Raw("note")), typed)
	if err != nil || f.Text("do") != "send" {
		return s.settle(w, r, formDraft, f, err, "The draft is saved.")
	}
	if o, err = s.store.Order(r.Context(), c.ID); err != nil {
		return err
	}
	c.Version = o.Version
	var letter store.OrderLetter
	if way == purchase.ByMail {
		if letter, err = s.letterOf(r, o, c.At); err != nil {
			return err
		}
	}
	kept := make([]typedLine, len(o.Lines))
	for i, l := range o.Lines {
		kept[i] = typedLine{l, "line-" + page.Itoa64(l.ID)}
	}
	err = renamed(s.store.SendOrder(r.Context(), c, way, letter), kept)
	if err != nil { // the draft is saved by then
		f.Values = nil
	}
	said := "The order is written down as sent " + way.Words() + "."
	if way == purchase.ByMail {
		said = "The order goes by mail to " + o.Supplier.Email + "."
	}
	return s.settle(w, r, formDraft, f, err, said)
}

// renamed puts the problems of lines beside the fields that they were typed in.
func renamed(err error, typed []typedLine) error {
	var invalid *domain.InvalidError
	if !errors.As(err, &invalid) {
		return err
	}
	bad := map[string]string{}
	for field, why := range invalid.Problems {
		rest, isLine := strings.CutPrefix(field, "lines.")
		at, name, ok := strings.Cut(rest, ".")
		if i, err := strconv.Atoi(at); isLine && ok && err == nil && i < len(typed) {
			field = typed[i].at + "." + name
		}
		bad[field] = why
	}
	return domain.Invalid(bad)
}

// drop gives a draft up, after asking once more.
func (s *Room) drop(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeOf(w, r)
	if err != nil {
		return err
	}
	o, err := s.store.Order(r.Context(), c.ID)
	if err != nil {
		return err
	}
	sure, err := s.Sure(w, r, f, view.SureView{Title: "Give the draft up?", Text: fmt.Sprintf("Draft %s to %s has %s. What dockets and drawers need of it is to be ordered again.",
		o.Number, o.Supplier.Name, plural(len(o.Lines), "line", "lines")), Button: "Give it up", Back: orderURL(o.ID, "")})
	if err != nil || !sure {
		return err
	}
	return s.settle(w, r, formDraft, f, s.store.DropDraft(r.Context(), c), "The draft is given up.")
}

// sendAgain has an order whose mail was refused go out once more.
func (s *Room) sendAgain(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeOf(w, r)
	if err != nil {
		return err
	}
	o, err := s.store.Order(r.Context(), c.ID)
	if err != nil {
		return err
	}
	way := purchase.Way(f.Text("way"))
	f.FailAll(purchase.WayProblems(way, o.Supplier.Email))
	var letter store.OrderLetter
	if f.OK() && way == purchase.ByMail {
		if letter, err = s.letterOf(r, o, c.At); err != nil {
			return err
		}
	}
	if f.OK() {
		err = s.store.SendOrderAgain(r.Context(), c, way, letter)
	}
	return s.settle(w, r, formAgain, f, err, "The order went out again "+way.Words()+".")
}

// lineOptions are the lines of an order of which pieces are to come, or all.
func lineOptions(o store.Order, all bool) []view.Option {
	var list []view.Option
	for _, l := range o.Lines {
		if all || o.Standing(l.ID).ToCome > 0 {
			text := l.Name()
			if leads := o.Parts[l.ID]; leads.DocketID != 0 {
				text += ", for " + leads.Docket.String()
			}
			list = append(list, view.Option{Value: page.Itoa64(l.ID), Text: text})
		}
	}
	return list
}

func amountTyped(minor *int64, currency string) string {
	if minor == nil {
		return ""
	}
	return money.Plain(*minor, currency)
}

// waysOf are the ways in which an order can go to a supplier, the usual one first.
func waysOf(email string) []view.Option {
	list := []view.Option{{Value: string(purchase.ByTelephone), Text: "By telephone: I have rung them"}, {Value: string(purchase.Otherwise), Text: "Otherwise: their own form, letter, counter"}}
	if email != "" {
		list = slices.Insert(list, 0, view.Option{Value: string(purchase.ByMail), Text: "By mail to " + email + ", as PDF and CSV"})
	}
	return list
}
