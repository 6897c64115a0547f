package orders

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
)

// paperOf is an order on paper: as it went out, by the settings and the supplier's particulars of that day, or as its draft would
// on the civil day today.
func paperOf(o store.Order, today time.Time) paper.Order {
	to, on := o.To, o.SentOn
	if !o.IsSent() {
		to, on = o.Supplier.Supplier, today
	}
	p := paper.Order{Issuer: page.IssuerOf(o.Shop), Lang: "en", Code: o.Number, Draft: o.Order.Stage() == purchase.Drafted, Date: on.Format("2 January 2006"),
		Account: to.Account, Supplier: append([]string{to.Name}, page.NonEmptyLines(to.Address)...), Notes: page.NonEmptyLines(o.Note)}
	amount := func(minor int64) string { return money.Format(minor, o.Currency, o.Shop.Locale) }
	for _, l := range o.Lines {
		line := paper.OrderLine{Number: l.Number, Description: l.Description, Pieces: strconv.Itoa(l.Pieces)}
		if leads := o.Parts[l.ID]; leads.DocketID != 0 {
			line.For = leads.Docket.String()
		}
		if l.CostMinor != nil {
			line.UnitPrice, line.Amount = amount(*l.CostMinor), amount(*l.CostMinor*int64(l.Pieces))
		}
		p.Lines = append(p.Lines, line)
	}
	if sum, known := o.TotalMinor(); known && len(o.Lines) > 0 {
		p.Totals = []paper.Total{{Label: "Total without tax", Amount: amount(sum), Strong: true}}
	}
	return p
}

// tableOf is an order as a table (RFC 4180). Amounts have a decimal point whatever the shop's locale.
func tableOf(o store.Order) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	rows := [][]string{{"order", "line", "your_number", "description", "pieces", "unit_price", "currency", "our_docket"}}
	for i, l := range o.Lines {
		row := []string{o.Number, strconv.Itoa(i + 1), l.Number, l.Description, strconv.Itoa(l.Pieces), "", o.Currency, ""}
		if l.CostMinor != nil {
			row[5] = money.Plain(*l.CostMinor, o.Currency)
		}
		if leads := o.Parts[l.ID]; leads.DocketID != 0 {
			row[7] = leads.Docket.String()
		}
		rows = append(rows, row)
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func fileName(o store.Order) string { return "order-" + o.Number }

// madeAt is when the paper of an order was made: as it was sent, so that it is made the same again, and a draft now.
func madeAt(o store.Order, now time.Time) time.Time {
	for _, e := range o.Happened {
		if e.Kind == purchase.Sent {
			return e.At
		}
	}
	return now
}

func (s *Room) orderOf(r *http.Request) (store.Order, error) {
	id, err := page.PathID(r, "id")
	if err != nil {
		return store.Order{}, err
	}
	return s.store.Order(r.Context(), id)
}

func (s *Room) sendPaper(w http.ResponseWriter, r *http.Request) error {
	o, err := s.orderOf(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, fileName(o), paperOf(o, s.Today(r)), madeAt(o, s.Now()))
}

func (s *Room) sendTable(w http.ResponseWriter, r *http.Request) error {
	o, err := s.orderOf(r)
	if err != nil {
		return err
	}
	table, err := tableOf(o)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present") // RFC 7111 and RFC 4180
	h.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s.csv"`, fileName(o)))
	_, _ = w.Write(table)
	return nil
}

// Letter is the mail that an order goes out with at a moment, on the civil day today. The draft is written as what it becomes by
// that. logo gives the pictures of logos, nil for none.
func Letter(o store.Order, today, at time.Time, logo func(name string) []byte) (store.OrderLetter, error) {
	doc := paperOf(o, today)
	doc.Draft = false
	pdf, err := paper.PDF(doc, madeAt(o, at), logo)
	if err != nil {
		return store.OrderLetter{}, err
	}
	table, err := tableOf(o)
	if err != nil {
		return store.OrderLetter{}, err
	}
	body := []string{"Please supply what the order with this mail lists: " + plural(len(o.Lines), "line", "lines") + ", as PDF to read and as CSV for machines."}
	if o.Supplier.Account != "" {
		body = append(body, "Our number at yours: "+o.Supplier.Account+".")
	}
	if o.Note != "" {
		body = append(body, o.Note)
	}
	body = append(body, "Please confirm with the day on which it comes.")
	return store.OrderLetter{Subject: "Order " + o.Number + " of " + o.Shop.Name, Body: strings.Join(body, "\n\n"), Name: fileName(o), PDF: pdf, CSV: table}, nil
}

func (s *Room) letterOf(r *http.Request, o store.Order, at time.Time) (store.OrderLetter, error) {
	return Letter(o, s.Today(r), at, s.LogoOf(r.Context()))
}
