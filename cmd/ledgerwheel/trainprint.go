package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math/big"
	"strconv"
	"text/tabwriter"

	"ledgerwheel/domain/train"
)

// trainJSON is the answer of train --json. Its fields are promised. Figures that end in _exact are fractions as text,
// such as 480 or 17 1/7; the same without are the nearest floating point. Directions are seen from the dial side.
type trainJSON struct {
	Notation                string      `json:"notation"`
	BeatsPerHour            float64     `json:"beats_per_hour"`
	BeatsPerHourExact       string      `json:"beats_per_hour_exact"`
	UsualBeat               bool        `json:"usual_beat"` // one of those that watches are made for
	Hertz                   float64     `json:"hertz"`      // full oscillations per second
	EscapeTeeth             int         `json:"escape_teeth"`
	Arbors                  []arborJSON `json:"arbors"`
	MinuteHand              handJSON    `json:"minute_hand"`
	SecondsLayout           string      `json:"seconds_layout"`
	SecondsHand             *handJSON   `json:"seconds_hand"`         // null where there is none
	Graduations             int         `json:"graduations"`          // of the seconds track
	TicksPerGraduation      *float64    `json:"ticks_per_graduation"` // null without a seconds hand
	TicksPerGraduationExact *string     `json:"ticks_per_graduation_exact"`
	MotionWork              *motionJSON `json:"motion_work"` // null where none is asked for
	Remarks                 []string    `json:"remarks"`

	motion *motionAnswer
}

type arborJSON struct {
	Number            int     `json:"number"` // 2 is the second
	Name              string  `json:"name"`
	WheelTeeth        int     `json:"wheel_teeth"`
	PinionLeaves      *int    `json:"pinion_leaves"` // null of the first arbor given
	TurnsPerHour      float64 `json:"turns_per_hour"`
	TurnsPerHourExact string  `json:"turns_per_hour_exact"`
	PeriodS           float64 `json:"period_s"`
	Direction         string  `json:"direction"`
}

type handJSON struct {
	On                string  `json:"on"`
	TurnsPerHour      float64 `json:"turns_per_hour"`
	TurnsPerHourExact string  `json:"turns_per_hour_exact"`
	PeriodS           float64 `json:"period_s"`
	Direction         string  `json:"direction"`
}

type motionJSON struct {
	Notation   string  `json:"notation"`
	Ratio      float64 `json:"ratio"` // turns of the minute hand for one of the hour hand
	RatioExact string  `json:"ratio_exact"`
	DialHours  int     `json:"dial_hours"` // that the counts are for: 12 or 24, 0 for neither
	Found      *string `json:"found"`      // the count that was asked for; null for none
}

// motionAnswer is a motion work with what was found of it.
type motionAnswer struct {
	work      train.MotionWork
	found     string // field; "" when all was given
	dialHours int
}

func answerTrain(t train.Train, graduations int, motion *motionAnswer) trainJSON {
	a := trainJSON{
		Notation: t.String(), BeatsPerHour: near(t.Beats()), BeatsPerHourExact: train.Fraction(t.Beats()),
		UsualBeat: train.IsUsualBeat(t.Beats()),
		Hertz:     near(t.Hertz()), EscapeTeeth: t.EscapeTeeth, MinuteHand: handOf(t.MinuteHand()),
		SecondsLayout: t.Seconds.Layout.String(),
		Graduations:   graduations, Remarks: append([]string{}, t.Remarks()...), motion: motion,
	}
	for _, arbor := range t.Arbors() {
		j := arborJSON{Number: arbor.Number, Name: arbor.Name, WheelTeeth: arbor.Wheel,
			TurnsPerHour:      near(arbor.TurnsPerHour),
			TurnsPerHourExact: train.Fraction(arbor.TurnsPerHour), PeriodS: near(arbor.PeriodS()),
			Direction: train.DirectionWords(arbor.Clockwise)}
		if arbor.Pinion != 0 {
			j.PinionLeaves = &arbor.Pinion
		}
		a.Arbors = append(a.Arbors, j)
	}
	if hand, ok := t.SecondsHand(); ok {
		j := handOf(hand)
		a.SecondsHand = &j
		ticks, _ := t.TicksPerGraduation(graduations)
		number, exact := near(ticks), train.Fraction(ticks)
		a.TicksPerGraduation, a.TicksPerGraduationExact = &number, &exact
	} else {
		a.SecondsLayout = train.NoSeconds.String()
	}
	if motion != nil {
		ratio, _ := motion.work.Ratio()
		a.MotionWork = &motionJSON{Notation: motion.work.String(), Ratio: near(ratio), RatioExact: train.Fraction(ratio),
			DialHours: motion.work.DialHours()}
		if motion.found != "" {
			a.MotionWork.Found = &motion.found
		}
		a.Remarks = append(a.Remarks, motion.work.Remarks()...)
	}
	return a
}

func handOf(h train.Hand) handJSON {
	return handJSON{On: h.On, TurnsPerHour: near(h.TurnsPerHour), TurnsPerHourExact: train.Fraction(h.TurnsPerHour),
		PeriodS: near(h.PeriodS()), Direction: train.DirectionWords(h.Clockwise)}
}

func near(r *big.Rat) float64 {
	f, _ := r.Float64()
	return f
}

func writeTrainJSON(w io.Writer, a trainJSON) error {
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	return out.Encode(a)
}

func writeTrainTable(w io.Writer, t train.Train, a trainJSON) error {
	fmt.Fprintf(w, "Train %s\n\n", a.Notation)
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "arbor\twheel\tpinion\tturns per hour\tone turn\tfrom the dial side")
	for _, arbor := range t.Arbors() {
		pinion := "–"
		if arbor.Pinion != 0 {
			pinion = strconv.Itoa(arbor.Pinion)
		}
		fmt.Fprintf(table, "%s\t%d\t%s\t%s\t%s\t%s\n", arbor.Name, arbor.Wheel, pinion, train.Words(arbor.TurnsPerHour),
			train.PeriodWords(arbor.PeriodS()), train.DirectionWords(arbor.Clockwise))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "\nBeats per hour: %s, %s in a second; balance %s Hz.\n", train.Words(t.Beats()),
		train.Words(new(big.Rat).Quo(t.Beats(), big.NewRat(3600, 1))), train.Words(t.Hertz()))
	writeHandWords(w, "Minute hand", t.MinuteHand())
	if hand, ok := t.SecondsHand(); ok {
		writeHandWords(w, "Seconds hand ("+a.SecondsLayout+")", hand)
		ticks, _ := t.TicksPerGraduation(a.Graduations)
		fmt.Fprintf(w, "Ticks per graduation of a track of %d: %s.\n", a.Graduations, train.Words(ticks))
	} else {
		fmt.Fprintln(w, "No seconds hand.")
	}
	if a.motion != nil {
		writeMotionWords(w, a.motion)
	}
	for _, remark := range a.Remarks {
		fmt.Fprintln(w, "Note:", remark)
	}
	return nil
}

func writeHandWords(w io.Writer, name string, h train.Hand) {
	fmt.Fprintf(w, "%s: one turn in %s, %s; %s.\n", name, train.PeriodWords(h.PeriodS()),
		train.DirectionWords(h.Clockwise), h.On)
}

func writeMotionWords(w io.Writer, m *motionAnswer) {
	ratio, _ := m.work.Ratio()
	found := ""
	if m.found != "" {
		found = ", with the count found for a dial of " + strconv.Itoa(m.dialHours) + " hours"
	}
	fmt.Fprintf(w, "Motion work %s%s: %s turns of the minute hand for one of the hour hand.\n", m.work, found,
		train.Words(ratio))
}
