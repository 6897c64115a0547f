package paper

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// TicketSize is the paper a claim ticket is printed on.
type TicketSize int

const (
	TicketA6   TicketSize = iota // 105 x 148 mm
	TicketRoll                   // 80 mm roll, as long as it needs
)

// ClaimTicket is the customer's copy of an intake.
type ClaimTicket struct {
	Issuer        Issuer
	Lang          string
	Size          TicketSize
	Docket        string
	Code          string // what the QR says: docket number or claim link; empty is the docket number
	CodeWords     string // what scanning does, as "Follow your watch"; may be empty
	Customer      string
	Watch         string  // maker and model
	Details       []Field // reference, serial, strap ...
	Complaint     string  // in the customer's words
	Condition     string
	Received      string
	Promised      string
	DeclaredValue string
	ApprovalLimit string
	Terms         []string
	TakenInBy     string
}

// Texts are what the ticket prints besides the program's own words and figures, for [Missing].
func (c ClaimTicket) Texts() []string {
	return slices.Concat(c.Issuer.texts(), fieldTexts(c.Details), c.Terms, []string{
		c.CodeWords, c.Customer, c.Watch, c.Complaint, c.Condition, c.DeclaredValue, c.ApprovalLimit, c.TakenInBy,
	})
}

// ticketStyles are the sizes of one width of paper.
type ticketStyles struct {
	margin, qrSize, bar, barHeight float64 // mm
	detailColumns                  int
	shop, numeral, body, fine, lab style
}

var ticketBySize = map[TicketSize]ticketStyles{
	TicketA6: {
		margin: 8, qrSize: 27, bar: 0.5, barHeight: 9.5, detailColumns: 2,
		shop: style{serif, 13, accentInk}, numeral: style{serif, 23, textInk},
		body: style{sans, 8.5, textInk}, fine: style{sans, 5.8, quietInk}, lab: style{sans, 6.2, quietInk},
	},
	TicketRoll: {
		margin: 4, qrSize: 27, bar: 0.4, barHeight: 11, detailColumns: 1,
		shop: style{serif, 12, accentInk}, numeral: style{serif, 21, textInk},
		body: style{sans, 8.5, textInk}, fine: style{sans, 6.5, quietInk}, lab: style{sans, 6.5, quietInk},
	},
}

// ticket is a claim ticket being set.
type ticket struct {
	*sheet
	ClaimTicket
	ticketStyles
	y float64
}

// PDF sets the ticket on a single page; errors as [Estimate.PDF].
func (c ClaimTicket) PDF(created time.Time) ([]byte, error) {
	t, err := c.layout(created)
	if err != nil {
		return nil, err
	}
	return t.bytes()
}

func (c ClaimTicket) layout(created time.Time) (*ticket, error) {
	if c.Code == "" {
		c.Code = c.Docket
	}
	if c.Size == TicketA6 {
		return c.set(created, 105, 148)
	}
	const trial, least = 1200.0, 120.0 // mm; a trial on endless paper finds the length
	t, err := c.set(created, 80, trial)
	if err != nil {
		return nil, err
	}
	return c.set(created, 80, max(least, t.y+t.margin))
}

func (c ClaimTicket) set(created time.Time, w, h float64) (*ticket, error) {
	s, err := newSheet(about{
		title: "Claim ticket " + c.Docket, subject: "Claim ticket", author: c.Issuer.Name, lang: c.Lang, created: created,
	}, w, h)
	if err != nil {
		return nil, err
	}
	s.addPage()
	t := &ticket{sheet: s, ClaimTicket: c, ticketStyles: ticketBySize[c.Size]}
	t.y = t.margin
	t.head()
	if err := t.docket(); err != nil {
		return nil, err
	}
	if err := t.watch(); err != nil {
		return nil, err
	}
	if c.Size == TicketA6 {
		t.restOnCard()
	} else {
		t.restOnRoll()
	}
	return t, nil
}

func (t *ticket) inner() float64 { return t.w - 2*t.margin }

func (t *ticket) head() {
	x2 := t.w - t.margin
	t.fitted(t.margin, t.y+t.shop.ascent(), t.inner(), t.Issuer.Name, t.shop, 8, left)
	t.y += t.shop.lineHeight()
	for _, line := range []string{strings.Join(t.Issuer.Address, ", "), strings.Join(t.Issuer.Contact, " · ")} {
		if line != "" {
			t.fitted(t.margin, t.y+t.fine.ascent(), t.inner(), line, t.fine, 5, left)
			t.y += t.fine.lineHeight()
		}
	}
	t.y = t.ledgerRule(t.margin, x2, t.y+1.4, 0.5) + 2.2
}

// docket sets the docket number, large, over its Code 128.
func (t *ticket) docket() error {
	t.text(t.margin, t.y+t.lab.ascent(), "Claim ticket", t.lab, left)
	t.fitted(t.w-t.margin, t.y+t.lab.ascent(), t.inner()*0.6, t.Received, t.lab, 5, right)
	t.y += t.lab.lineHeight()
	t.fitted(t.margin, t.y+t.numeral.ascent(), t.inner(), t.Docket, t.numeral, 10, left)
	t.y += t.numeral.lineHeight()
	if _, _, err := t.code128(t.margin, t.y, t.inner(), t.barHeight, t.bar, left, t.Docket); err != nil {
		return err
	}
	t.y += t.barHeight + 2.4
	return nil
}

// labelled sets a small label and, under it, a line that shrinks to its width.
func (t *ticket) labelled(x, y, width float64, f Field, st style) {
	if oneLine(f.Value) == "" {
		f.Value = "not stated"
	}
	t.fitted(x, y+t.lab.ascent(), width, f.Label, t.lab, 4.8, left)
	t.fitted(x, y+t.lab.lineHeight()+st.ascent(), width, f.Value, st, 5.5, left)
}

// watch sets what was handed in and when it is promised, with the QR code at the
// right.
func (t *ticket) watch() error {
	top := t.y
	x := t.w - t.margin - t.qrSize + 2 // the code's white zone runs into the margin
	if err := t.qr(x, top-1.5, t.qrSize, t.Code); err != nil {
		return err
	}
	low := top - 1.5 + t.qrSize
	if t.CodeWords != "" {
		t.fitted(x+t.qrSize/2, low-0.4+t.lab.ascent(), t.qrSize-3, t.CodeWords, t.lab, 4.8, centre)
		low += t.lab.lineHeight()
	}
	width := x - t.margin - 1
	strong := style{sansBold, 10, textInk}
	t.labelled(t.margin, t.y, width, Field{"Watch", t.Watch}, strong)
	t.y += t.lab.lineHeight() + strong.lineHeight() + 0.4
	t.details(width)
	strong.size = 9
	t.labelled(t.margin, t.y+1, width, Field{"Promised for", t.Promised}, strong)
	t.y += 1 + t.lab.lineHeight() + strong.lineHeight()
	t.y = max(t.y, low) + 1
	t.line(t.margin, t.y, t.w-t.margin, t.y, 0.15, brassInk)
	t.y += 1.4
	return nil
}

// details sets the first details in columns; the docket has them all.
func (t *ticket) details(width float64) {
	const most, gap = 4, 3.0
	st := style{sans, 7.2, textInk}
	columnWidth := (width - gap*float64(t.detailColumns-1)) / float64(t.detailColumns)
	shown := 0
	for _, d := range t.Details {
		if shown == most || oneLine(d.Value) == "" {
			continue
		}
		x := t.margin + float64(shown%t.detailColumns)*(columnWidth+gap)
		y := t.y + float64(shown/t.detailColumns)*st.lineHeight() + st.ascent()
		w := t.fitted(x, y, columnWidth*0.5, d.Label, st.in(quietInk), 5, left) + 1.2
		t.fitted(x+w, y, columnWidth-w, d.Value, st, 5, left)
		shown++
	}
	rows := (shown + t.detailColumns - 1) / t.detailColumns
	t.y += float64(rows) * st.lineHeight()
}

// agreed sets who brings the watch and the amounts agreed.
func (t *ticket) agreed() {
	const gap, columns = 4.0, 3
	width := (t.inner() - gap*(columns-1)) / columns
	strong := style{sansBold, 8, textInk}
	for i, field := range []Field{
		{"Customer", t.Customer}, {"Declared value", t.DeclaredValue}, {"Approval limit", t.ApprovalLimit},
	} {
		t.labelled(t.margin+float64(i)*(width+gap), t.y, width, field, strong)
	}
	t.y += t.lab.lineHeight() + strong.lineHeight() + 1
}

// restOnCard fills what is left of an A6 between the watch and the signature.
func (t *ticket) restOnCard() {
	const signHeight = 12.0
	t.agreed()
	bottom := t.h - t.margin
	sign := bottom - signHeight
	terms := t.fine.fitBlock(strings.Join(t.Terms, "\n"), 4.8, t.inner(), (sign-t.y)*0.42)
	room := sign - t.y - terms.height() - 1.5
	t.quoted("What you told us", t.Complaint, room*0.55)
	t.quoted("Condition at intake", t.Condition, sign-terms.height()-1.5-t.y)
	t.block(t.margin, sign-terms.height(), t.inner(), terms)
	t.sign(sign)
}

// quoted sets a label and a block of at most height mm, or nothing if that holds
// no line.
func (t *ticket) quoted(label, text string, height float64) {
	st := style{serifItalic, t.body.size, textInk}
	if oneLine(text) == "" || height < t.lab.lineHeight()+st.at(6).lineHeight() {
		return
	}
	b := st.fitBlock(text, 6, t.inner(), height-t.lab.lineHeight()-1)
	t.text(t.margin, t.y+t.lab.ascent(), label, t.lab, left)
	t.y = t.block(t.margin, t.y+t.lab.lineHeight(), t.inner(), b) + 1
}

// restOnRoll sets the same on paper that is as long as it needs to be.
func (t *ticket) restOnRoll() {
	const longest = 160.0 // mm of one text, so that no ticket runs off the roll
	t.agreed()
	t.quoted("What you told us", t.Complaint, longest)
	t.quoted("Condition at intake", t.Condition, longest)
	t.y += 1
	terms := t.fine.fitBlock(strings.Join(t.Terms, "\n"), 5, t.inner(), longest)
	t.y = t.block(t.margin, t.y, t.inner(), terms) + 2
	t.sign(t.y)
	t.y += 13
}

// sign rules the line that both sides sign on.
func (t *ticket) sign(y float64) {
	line := y + 9
	half := (t.inner() - 5) / 2
	for i, words := range []string{"Customer", takenIn(t.TakenInBy)} {
		x := t.margin + float64(i)*(half+5)
		t.line(x, line, x+half, line, 0.18, textInk)
		t.fitted(x, line+0.6+t.lab.ascent(), half, words, t.lab, 4.8, left)
	}
}

func takenIn(by string) string {
	if by == "" {
		return "For the shop"
	}
	return fmt.Sprintf("For the shop: %s", by)
}
