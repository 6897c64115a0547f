package main

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"ledgerwheel/domain/train"
)

type trainCmd struct {
	Motion      string     `help:"The motion work as cannon pinion:minute wheel,minute pinion:hour wheel, for example 12:36,10:40; a ? for one count finds it." placeholder:"NOTATION"`
	DialHours   int        `help:"Hours on the dial, 12 or 24, for the count to be found." enum:"12,24" default:"12"`
	Graduations typedWhole `help:"Graduations of the seconds track." default:"60"`
	JSON        bool       `name:"json" help:"Print the answer as JSON."`
	Notation    string     `arg:"" name:"NOTATION" help:"Each wheel with the pinion it drives, then the escape wheel: 80:10,75:10,80:8,15. In quotes, seconds=centre, seconds=3/75:10, seconds=none or minute=3/60:12 may follow."`
}

// mostGraduations is more than any track has.
const mostGraduations = 3600

// Validate is asked by the command line's parser before anything runs.
func (c *trainCmd) Validate() error {
	if c.Graduations < 1 || c.Graduations > mostGraduations {
		return fmt.Errorf("--graduations takes 1 to %d, for example 60", mostGraduations)
	}
	return nil
}

// Run reckons the train and prints it. A remark is no error: the question was answered.
func (c *trainCmd) Run(e *env) error {
	t, err := train.Parse(c.Notation)
	if err == nil {
		err = allOf(t.Problems())
	}
	if err != nil {
		return unusable{fmt.Errorf("train %s: %w", c.Notation, err)}
	}
	motion, err := c.motion()
	if err != nil {
		return unusable{fmt.Errorf("motion work %s: %w", c.Motion, err)}
	}
	a := answerTrain(t, int(c.Graduations), motion)
	if c.JSON {
		return writeTrainJSON(e.stdout, a)
	}
	return writeTrainTable(e.stdout, t, a)
}

// motion reads the motion work and finds the count that isn't known; nil where none is asked for.
func (c *trainCmd) motion() (*motionAnswer, error) {
	if c.Motion == "" {
		return nil, nil
	}
	m, err := train.ParseMotionWork(c.Motion)
	if err == nil {
		err = allOf(m.Problems())
	}
	if err != nil {
		return nil, err
	}
	a := &motionAnswer{dialHours: c.DialHours}
	if len(m.Unknown()) > 0 {
		field, exact, ok := m.Missing(c.DialHours)
		if !ok {
			return nil, errors.New("one count can be found, not several")
		}
		a.found = field
		if !exact.IsInt() {
			return nil, fmt.Errorf("no whole count makes %d:1, it would be %s; question the counts given", c.DialHours,
				train.Words(exact))
		}
		m = m.With(field, int(exact.Num().Int64()))
		if err := allOf(m.Problems()); err != nil {
			return nil, err
		}
	}
	a.work = m
	return a, nil
}

// allOf is the problems as one error, in the order of their fields; nil when there are none.
func allOf(bad map[string]string) error {
	if len(bad) == 0 {
		return nil
	}
	var says []string
	for _, field := range slices.Sorted(maps.Keys(bad)) {
		says = append(says, bad[field])
	}
	return errors.New(strings.Join(says, " "))
}
