package paper

// Line is one priced line of an estimate or an invoice, its figures formatted.
type Line struct {
	Description string
	Detail      string // quiet second line: part number, reason; may be empty
	Quantity    string
	UnitPrice   string
	Tax         string // rate, as "20 %"
	Amount      string
}

// Total is a line below the priced lines. The last strong one is ruled double, as
// ledgers close an account.
type Total struct {
	Label, Amount string
	Strong        bool
}

// ledgerTexts are what stands in lines and totals; amounts are written as the shop's country writes them, so their
// digits and signs may be of any script.
func ledgerTexts(lines []Line, totals []Total) []string {
	var all []string
	for _, l := range lines {
		all = append(all, l.Description, l.Detail, l.UnitPrice, l.Amount)
	}
	for _, t := range totals {
		all = append(all, t.Label, t.Amount)
	}
	return all
}

// pricedLines sets the lines and closes them with their totals.
func (f *flow) pricedLines(lines []Line, totals []Total) {
	t := table{flow: f, columns: []column{
		{"Work and parts", 82, left},
		{"Quantity", 20, right},
		{"Unit price", 25, right},
		{"Tax", 17, right},
		{"Amount", 26, right},
	}}
	rows := make([][]cell, len(lines))
	for i, l := range lines {
		rows[i] = []cell{
			{text: l.Description, note: l.Detail},
			{text: l.Quantity}, {text: l.UnitPrice}, {text: l.Tax}, {text: l.Amount},
		}
	}
	t.draw(rows)
	f.totals(totals)
}

// totals sets the sums at the right, on one page.
func (f *flow) totals(totals []Total) {
	const width, amountWidth = 84.0, 40.0
	st := strongStyle.at(11)
	height := 3.0
	for range totals {
		height += st.lineHeight() + 1
	}
	f.need(height)
	f.y += 2
	x2 := a4Width - marginSide
	x1 := x2 - width
	for i, total := range totals {
		row := bodyStyle
		if total.Strong {
			row = st
			f.y += 0.8
			f.line(x1, f.y, x2, f.y, 0.25, textInk)
			f.y += 0.6
		}
		baseline := f.y + row.ascent()
		f.fitted(x1, baseline, width-amountWidth-2, total.Label, row, 6, left)
		f.fitted(x2, baseline, amountWidth, total.Amount, row, 6, right)
		f.y += row.lineHeight() + 0.4
		if total.Strong && i == lastStrong(totals) {
			f.line(x1, f.y+0.2, x2, f.y+0.2, 0.25, textInk)
			f.line(x1, f.y+0.9, x2, f.y+0.9, 0.25, textInk)
			f.y += 1.8
		}
	}
	f.y += 5
}

func lastStrong(totals []Total) int {
	last := -1
	for i, t := range totals {
		if t.Strong {
			last = i
		}
	}
	return last
}

// addressee sets the customer at the left and facts about the paper at the right.
func (f *flow) addressee(customer []string, facts []Field) {
	const factsX, labelWidth = 118.0, 30.0
	top, y := f.y, f.y
	for i, line := range customer {
		st := bodyStyle.at(10)
		if i == 0 {
			st = strongStyle.at(10)
		}
		f.fitted(marginSide, y+st.ascent(), factsX-marginSide-10, line, st, 6.5, left)
		y += st.lineHeight()
	}
	yy := top
	for _, fact := range facts {
		if oneLine(fact.Value) == "" {
			continue
		}
		baseline := yy + bodyStyle.ascent()
		f.fitted(factsX, baseline, labelWidth-2, fact.Label, labelStyle.at(8), 5.5, left)
		f.fitted(factsX+labelWidth, baseline, a4Width-marginSide-factsX-labelWidth, fact.Value, bodyStyle, 5.5, left)
		yy += bodyStyle.lineHeight() + 0.4
	}
	f.y = max(y, yy) + 5
}
