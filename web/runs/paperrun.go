package runs

import (
	"cmp"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
)

func PaperMark(v metrology.Verdict) paper.Mark {
	switch v {
	case metrology.Pass:
		return paper.Pass
	case metrology.Fail:
		return paper.Fail
	case metrology.Undecided:
		return paper.Undecided
	}
	return paper.NotMeasured
}

// PaperPosition turns the small watch as it lies; a crown between two directions is drawn at the nearer one.
func PaperPosition(t tongue.Tongue, p timing.Position, crownHour int) paper.Position {
	out := paper.Position{Symbol: string(p), Words: positionSaid(t, p, crownHour), CrownAtTwelve: crownHour == timing.CrownAtTwelve}
	deg, hanging := p.CrownBearingDeg(crownHour)
	switch {
	case p == timing.DialDown:
		out.Lies = paper.DialDown
	case hanging:
		out.Lies = []paper.Lie{paper.CrownUp, paper.CrownRight, paper.CrownDown, paper.CrownLeft}[(deg+44)/90%4]
	}
	return out
}

// WatchFields name what was on trial.
func WatchFields(t tongue.Tongue, h store.Head) []paper.Field {
	fields := []paper.Field{{Label: t.Say("paper.watch"), Value: sheet.WatchWords(h)}}
	calibre := cmp.Or(h.Calibre.Name, h.Watch.CalibreName)
	for _, f := range []paper.Field{{Label: t.Say("paper.reference"), Value: h.Watch.Reference},
		{Label: t.Say("paper.serial"), Value: h.Watch.Serial},
		{Label: t.Say("paper.movement"), Value: h.Watch.MovementSerial}, {Label: t.Say("paper.calibre"), Value: calibre}} {
		if f.Value != "" {
			fields = append(fields, f)
		}
	}
	return fields
}
