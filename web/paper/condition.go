package paper

import (
	"math"
	"strconv"
	"time"
)

// Noted is one thing seen at intake. X and Y place it on the watch outline, from
// 0 at its left and top to 1; a note that is not Placed has no mark there.
type Noted struct {
	Where  string // dial, crystal, case, crown, bracelet
	What   string
	Placed bool
	X, Y   float64
}

// ConditionReport records how the watch was when it was handed in (A4).
type ConditionReport struct {
	Issuer     Issuer
	Lang       string
	Docket     string
	Date       string
	Watch      []Field
	Noted      []Noted
	Photos     []Photo
	Notes      []string
	Signatures []string
}

// PDF sets the report; [ErrPhoto] if a photograph cannot be read, else errors as
// [Estimate.PDF].
func (c ConditionReport) PDF(created time.Time) ([]byte, error) {
	f, err := c.layout(created)
	if err != nil {
		return nil, err
	}
	return f.finish()
}

func (c ConditionReport) layout(created time.Time) (*flow, error) {
	f, err := newFlow(c.Issuer, "Condition at intake", c.Docket, c.Lang, created)
	if err != nil {
		return nil, err
	}
	f.letterhead()
	if err := f.title("Condition at intake", c.Date, c.Docket); err != nil {
		return nil, err
	}
	f.fields(c.Watch, 4)
	f.y += 2
	f.outline(c.Noted)
	f.noted(c.Noted)
	if err := f.photos(c.Photos); err != nil {
		return nil, err
	}
	f.notes(c.Notes)
	f.y += 4
	f.signatures(c.Signatures)
	return f, nil
}

// outline draws the house's watch outline with the numbers of the notes.
func (f *flow) outline(notes []Noted) {
	const width, height = 56.0, 84.0
	f.need(height + 6)
	x, y := (a4Width-width)/2, f.y
	cx, cy, r := x+width/2, y+height/2, width*0.36
	f.pdf.SetDrawColor(quietInk.r, quietInk.g, quietInk.b)
	f.pdf.SetLineWidth(0.25)
	for _, side := range []float64{-1, 1} { // strap, between the lugs
		for _, edge := range []float64{-1, 1} {
			f.line(cx+edge*r*0.55, cy+side*r*0.95, cx+edge*r*0.48, cy+side*height/2, 0.25, quietInk)
			f.line(cx+edge*r*0.78, cy+side*r*0.66, cx+edge*r*0.62, cy+side*r*1.18, 0.25, quietInk)
		}
		f.line(cx-r*0.48, cy+side*height/2, cx+r*0.48, cy+side*height/2, 0.25, quietInk)
	}
	f.pdf.Circle(cx, cy, r, "D")
	f.pdf.Circle(cx, cy, r*0.84, "D")
	f.pdf.RoundedRect(cx+r*1.02, cy-r*0.14, r*0.16, r*0.28, 0.6, "1234", "D") // crown
	for hour := range 12 {
		a := float64(hour) * math.Pi / 6
		f.line(cx+r*0.7*math.Sin(a), cy-r*0.7*math.Cos(a), cx+r*0.78*math.Sin(a), cy-r*0.78*math.Cos(a), 0.25, quietInk)
	}
	for i, n := range notes {
		if n.Placed {
			f.numbered(x+width*unit(n.X), y+height*unit(n.Y), i+1)
		}
	}
	f.y += height + 5
}

// unit holds v between 0 and 1; what is no number counts as 0.
func unit(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return min(v, 1)
}

// numbered draws a number in a disc about (x, y).
func (f *flow) numbered(x, y float64, n int) {
	const r = 2.3
	st := style{sansBold, 7, whiteInk}
	f.pdf.SetFillColor(accentInk.r, accentInk.g, accentInk.b)
	f.pdf.Circle(x, y, r, "F")
	f.fitted(x, y+st.capHeight()/2, 2*r-1, strconv.Itoa(n), st, 4, centre)
}

func (f *flow) noted(notes []Noted) {
	if len(notes) == 0 {
		return
	}
	t := table{flow: f, columns: []column{{"No.", 12, left}, {"Where", 38, left}, {"What was seen", 120, left}}}
	rows := make([][]cell, len(notes))
	for i, n := range notes {
		rows[i] = []cell{{text: strconv.Itoa(i + 1)}, {text: n.Where, strong: true}, {text: n.What}}
	}
	t.draw(rows)
	f.y += 5
}
