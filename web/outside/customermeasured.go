package outside

import (
	"io"
	"math"
	"math/big"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/train"
	"ledgerwheel/store"
	"ledgerwheel/web/chart"
)

// measuredOf is what was measured before and after the work; nil until the watch is ready, since a run before that may not
// be the last.
func measuredOf(o opened) *measuredView {
	after, stage := o.found.AfterWork, o.found.Stage
	if after == nil || len(after.Sheet.Run.Readings) == 0 || stage.Order() < docket.StageReady.Order() {
		return nil
	}
	c := chart.BeforeAfter{ID: "rates", Title: o.say("page.measured.title"), Before: o.say("page.measured.before"),
		After: o.say("page.measured.after"), Slow: o.say("page.measured.slow"), Fast: o.say("page.measured.fast"),
		Unit: o.say("page.measured.unit"), DecimalComma: o.in != tongue.English}
	was, now := ratesOf(o.found.AsReceived), ratesOf(after)
	var said []string
	for _, p := range timing.Positions() {
		row := chart.BeforeAfterRow{Name: layWords(o, p), Before: was[p], After: now[p]}
		if row.Before == nil && row.After == nil {
			continue
		}
		c.Rows = append(c.Rows, row)
		said = append(said, o.say("page.measured.row", "lay", row.Name, "before", o.rate(row.Before), "after", o.rate(row.After)))
	}
	if len(c.Rows) == 0 {
		return nil
	}
	c.Desc = strings.Join(said, " ")
	v := &measuredView{Chart: c}
	if before := o.found.AsReceived; before != nil {
		if w, ok := timing.InWear(before.Sheet.Run, before.Sheet.Instruments()); ok {
			v.Words = append(v.Words, wearWords(o, "page.wear.before.", w))
		}
	}
	if w, ok := timing.InWear(after.Sheet.Run, after.Sheet.Instruments()); ok {
		least, greatest := o.figures(figure.Signed(w.Least, 0)), o.figures(figure.Signed(w.Greatest, 0))
		v.Words = append(v.Words, wearWords(o, "page.wear.after.", w), o.say("page.wear.range", "least", least, "greatest", greatest))
		wind := o.say("page.wind.full")
		if w.HoursAfterWinding > 0 {
			wind = o.say("page.wind.after", "hours", o.figures(timing.HoursText(w.HoursAfterWinding)))
		}
		v.Note = o.say("page.wear.note", "day", o.in.Day(after.TakenAt.In(o.shop.Location())), "wind", wind)
	}
	return v
}

// ratesOf are the rates of a run nearest to full wind, by position; none of no run.
func ratesOf(r *store.RunRecord) map[timing.Position]*metrology.Value {
	rates := map[timing.Position]*metrology.Value{}
	if r == nil || len(r.Sheet.Run.States()) == 0 {
		return rates
	}
	for p, v := range chart.RatesOf("", r.Sheet.Run, r.Sheet.Run.States()[0], r.Sheet.Instruments()).Rates {
		rates[p] = &v
	}
	return rates
}

// layWords say how a watch lies or hangs in a position, for people who know no symbols.
func layWords(o opened, p timing.Position) string {
	switch hour, hanging := p.UppermostHour(); {
	case hanging:
		return o.say("page.lay.hanging", "hour", hour)
	case p == timing.DialDown:
		return o.say("page.lay.FH")
	}
	return o.say("page.lay.CH")
}

// wearWords say what a run means for a watch that is worn.
func wearWords(o opened, key string, w timing.Wear) string {
	size, leaning := w.Mean, "undecided"
	signed := true
	if l := w.Leaning(); l != timing.NoTelling {
		leaning, signed = map[timing.Leaning]string{timing.Gains: "gains", timing.Loses: "loses"}[l], false
		size.Value = math.Abs(size.Value)
	}
	printed := size.Brief(signed)
	return o.say(key+leaning, "rate", o.figures(printed.Value), "u", o.figures(printed.Uncertainty))
}

// rate writes a rate with its sign, or that it was not measured.
func (o opened) rate(v *metrology.Value) string {
	if v == nil {
		return o.say("page.measured.not")
	}
	return o.figures(v.Brief(true).Value)
}

// figures writes what was printed with a decimal point as readers of the language do.
func (o opened) figures(printed string) string {
	return tongue.Figures(printed, o.in.In(o.shop.Locale))
}

// trainOf is the train of the watch's calibre, turning; nil where the calibre has none that is known in full.
func trainOf(o opened) *trainView {
	t, err := train.Parse(o.found.Calibre.Train)
	if err != nil || len(t.Problems()) > 0 {
		return nil
	}
	d := chart.TrainMotion{ID: "train", Title: o.say("page.train"), Train: chart.TrainDrawing{EscapeTeeth: t.EscapeTeeth}}
	var said []string
	arbors := t.Arbors()
	for i, a := range arbors {
		name := arborName(o, a.Name)
		d.TurnsPerHour = append(d.TurnsPerHour, new(big.Rat).Set(a.TurnsPerHour))
		if i < len(t.Stages) {
			d.Train.Stages = append(d.Train.Stages, chart.TrainStage{Wheel: t.Stages[i].Wheel, Pinion: t.Stages[i].Pinion, Name: name})
		} else {
			d.Train.LastName = name
		}
		said = append(said, o.say("page.train.wheel", "name", name, "teeth", a.Wheel))
	}
	d.Train.Anticlockwise, d.Desc = !arbors[0].Clockwise, strings.Join(said, ", ")+"."
	if _, err := d.SVG(); err != nil {
		return nil
	}
	v := &trainView{Drawing: d, Styles: o.at("/train.css"), Text: o.say("page.train.text", "calibre", o.found.Calibre.Name)}
	if times := d.TimesAsFast(); times >= 1 {
		v.Speed = o.say("page.train.faster", "times", strconv.Itoa(int(times)))
	} else {
		v.Speed = o.say("page.train.slower", "times", strconv.Itoa(int(math.Round(1/times))))
	}
	return v
}

// arborName is the name of an arbor in the reader's language, or the trade's English one where there is none.
func arborName(o opened, name string) string {
	key := "page.arbor." + name
	if said := o.say(key); said != key {
		return said
	}
	return name
}

// sendTrainStyles sends the style sheet that turns the wheels: what differs from train to train may stand in no page, whose
// policy lets no style into it.
func (s *Room) sendTrainStyles(w http.ResponseWriter, r *http.Request) error {
	o, ok, err := s.open(w, r)
	if err != nil || !ok {
		return err
	}
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	if v := trainOf(o); v != nil {
		_, _ = io.WriteString(w, v.Drawing.Styles()) // a reader that went away is no fault of ours
	}
	return nil
}
