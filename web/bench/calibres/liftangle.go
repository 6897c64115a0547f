package calibres

import (
	"fmt"
	"net/http"
	"strconv"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// determineLift works a lift angle out from what was typed and shows it, or keeps it with the calibre where its button
// was pressed.
func (s *Room) determineLift(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	record, err := s.record(r)
	if err != nil {
		return err
	}
	found, problems := timing.DetermineLift(timing.LiftWay(f.Text("way")), f.Raw, record.Calibre.BeatsPerHour)
	f.FailAll(problems)
	if f.OK() && f.Text("keep") != "" {
		next, problems := record.Calibre.Correct(found.CalibreFields())
		f.FailAll(problems)
		if f.OK() {
			change := store.CalibreChange{By: page.Actor(r), At: s.Now(), Why: found.How}
			err := s.store.SaveCalibre(r.Context(), change, next, f.ID("version"))
			if err == nil {
				s.Say(r.Context(), "The lift angle is saved: "+found.Angle.Format()+".")
				return page.SeeOther(w, r, calibreURL(next.ID))
			}
			if !f.Takes(err) {
				return err
			}
		}
	}
	if !f.OK() {
		return s.renderRecord(w, r, http.StatusUnprocessableEntity, record, f, nil)
	}
	return s.renderRecord(w, r, http.StatusOK, record, f, &found)
}

// liftOf is the fold that determines the lift angle of a calibre, as typed.
func liftOf(f *page.Form, record store.CalibreRecord, found *timing.Determination) liftView {
	k := record.Calibre
	v := liftView{CalibreID: k.ID, Open: f.Raw("way") != "", Now: presentLift(k.LiftAngle())}
	for _, way := range timing.LiftWays() {
		shown := liftWayView{Way: string(way), Name: liftNames[way].name, Hint: liftNames[way].hint}
		for _, field := range way.Fields() {
			shown.Fields = append(shown.Fields, f.View().Field(field.Name, field.Label).WithUnit(field.Unit).
				WithHint(field.Hint).WithWidth(view.Half).Need())
		}
		if found != nil && f.Text("way") == string(way) {
			shown.Result = liftResult(f, record, way, *found)
		}
		v.Ways = append(v.Ways, shown)
	}
	return v
}

// liftNames say what the ways are.
var liftNames = map[timing.LiftWay]struct{ name, hint string }{
	timing.LiftSeen: {"An amplitude seen", "Mark an arm of the balance and wind the watch until it swings 180° to each " +
		"side: the arms then seem to stand still opposite themselves (common practice)."},
	timing.LiftTwo: {"Two amplitudes, their difference known", "Follow a mark while the mainspring is let down a little at " +
		"a time: the wider the two lie apart, the better."},
}

func presentLift(l timing.LiftAngle) string {
	switch {
	case l.Determined():
		return "now " + l.Value().Format()
	case l.Deg > 0:
		return fmt.Sprintf("now %s°, nobody determined it: ± %s° is taken", figure.Plain(l.Deg), usualLiftU95())
	}
	return fmt.Sprintf("not known: %s° ± %s° is taken", figure.Plain(timing.UsualLiftAngleDeg), usualLiftU95())
}

func usualLiftU95() string { return figure.Plain(timing.LiftAngle{}.Value().Expanded()) }

func liftResult(f *page.Form, record store.CalibreRecord, way timing.LiftWay, found timing.Determination) *liftResultView {
	c := timing.CompareLift(found.Angle, record.Calibre.LiftAngle())
	agrees := "more than the two leave open: look at the figures again before you keep it."
	if c.Agree {
		agrees = "within what the two leave open."
	}
	v := &liftResultView{Angle: found.Angle.Format(), Against: fmt.Sprintf("Less the present one (%s): %s, %s",
		presentLift(record.Calibre.LiftAngle()), c.Difference.FormatSigned(), agrees),
		Amplitudes: fmt.Sprintf("Set on the instrument, it changes every amplitude by %s %%. Runs on record keep the angle they were read with.",
			figure.Signed(c.AmplitudePercent, 1)),
		Kept: [][2]string{{"way", string(way)}, {"version", strconv.FormatInt(record.Version, 10)}}}
	for _, field := range way.Fields() {
		v.Kept = append(v.Kept, [2]string{field.Name, f.Raw(field.Name)})
	}
	return v
}
