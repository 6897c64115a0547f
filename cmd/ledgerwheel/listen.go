package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recording"
)

type listenCmd struct {
	BeatsPerHour *typedBeats   `name:"beats-per-hour" help:"Beats per hour of the watch, 3600 to 72000. Unset, they are found." placeholder:"N"`
	LiftAngle    *typedDegrees `name:"lift-angle" help:"Lift angle of the calibre, 20 to 90 degrees. Unset, it is 52." placeholder:"DEG"`
	ClockPPM     typedPPM      `name:"clock-ppm" help:"How far the recorder's clock runs fast, in parts per million, known to its last digit typed. Unset, it is true to within 50." placeholder:"P"`
	ClockU95PPM  typedPPM      `name:"clock-u95-ppm" help:"Expanded uncertainty (k = 2) of --clock-ppm as its calibration states it." placeholder:"U"`
	JSON         bool          `name:"json" help:"Print the figures as JSON: one object, or an array for several files."`
	Files        []string      `arg:"" name:"FILE" help:"Recordings of a watch: WAV, FLAC, MP3 or Ogg Opus. - reads standard input."`
}

// What a watch and a recorder can be, and what the options may say.
const (
	leastBeatsPerHour, mostBeatsPerHour = 3600, 72000
	leastLiftDeg, mostLiftDeg           = 20, 90
	mostClockPPM                        = 10000
)

// Validate is asked by the command line's parser before anything runs.
func (c *listenCmd) Validate() error {
	switch {
	case c.BeatsPerHour != nil && (c.BeatsPerHour.Float() < leastBeatsPerHour ||
		c.BeatsPerHour.Float() > mostBeatsPerHour):
		return fmt.Errorf("--beats-per-hour takes %d to %d, for example 28800", leastBeatsPerHour, mostBeatsPerHour)
	case c.LiftAngle != nil && (c.LiftAngle.Float() < leastLiftDeg || c.LiftAngle.Float() > mostLiftDeg):
		return fmt.Errorf("--lift-angle takes %d to %d degrees, for example 52", leastLiftDeg, mostLiftDeg)
	case c.ClockU95PPM.given && c.ClockU95PPM.value < 0:
		return errors.New("--clock-u95-ppm takes zero or more, for example 0.5")
	}
	return nil
}

// settings is what the listener is told.
func (c *listenCmd) settings() acoustic.Settings {
	s := acoustic.Settings{Clock: clockOf(c.ClockPPM, c.ClockU95PPM)}
	if c.BeatsPerHour != nil {
		s.BeatsPerHour = c.BeatsPerHour.Float()
	}
	if c.LiftAngle != nil {
		s.LiftAngleDeg = c.LiftAngle.Float()
	}
	return s
}

// clockOf is what is known of a clock from what was typed: a figure is known to half a step of its last digit
// (rectangular), and to its calibration's uncertainty where that is stated.
func clockOf(ppm, u95 typedPPM) acoustic.Clock {
	if !ppm.given && !u95.given {
		return acoustic.UncalibratedClock()
	}
	var step float64
	if ppm.given {
		step = ppm.step
	}
	return acoustic.Clock{PPM: ppm.value,
		StdPPM: metrology.Quadrature(metrology.FromResolution(step), u95.value/metrology.CoverageFactor)}
}

// errNothingHeard ends the program with exit code 3.
var errNothingHeard = errors.New("no watch heard")

// heardFile is what came of one file: a result, or an error.
type heardFile struct {
	name   string
	result acoustic.Result
	// liftAssumed says that nobody stated the lift angle of the amplitude.
	liftAssumed bool
	err         error // wraps errNothingHeard or errUnusableFile
}

// Run listens to each file. Where a file gives no figures the others still do.
func (c *listenCmd) Run(e *env) error {
	var all []heardFile
	var failed failedFiles
	for _, name := range c.Files {
		h := heardFile{name: name, liftAssumed: c.LiftAngle == nil}
		h.result, h.err = c.hear(e, name)
		if e.ctx.Err() != nil {
			return errors.New("stopped before the end of the recording")
		}
		if h.err != nil {
			failed = append(failed, h.err)
		}
		all = append(all, h)
	}
	if c.JSON {
		if err := writeListenJSON(e.stdout, all); err != nil {
			return err
		}
	} else if err := writeListenTables(e.stdout, all); err != nil {
		return err
	}
	if len(failed) > 0 {
		return failed
	}
	return nil
}

// failedFiles has one line for each file without figures.
type failedFiles []error

func (f failedFiles) Error() string {
	lines := make([]string, len(f))
	for i, err := range f {
		lines[i] = err.Error()
	}
	return strings.Join(lines, "\nledgerwheel: ")
}

func (f failedFiles) Unwrap() []error { return f }

// hear listens to one file. Its errors name the file in one line.
func (c *listenCmd) hear(e *env, name string) (acoustic.Result, error) {
	in, shown, closeIn, err := openSound(e, name)
	if err != nil {
		return acoustic.Result{}, unusable{err}
	}
	defer closeIn()
	result, err := c.listen(e.ctx, in, e.stderr, shown)
	if err == nil && name != "-" { // what came by a pipe can't be had again
		result, err = c.rejoin(e.ctx, name, result)
	}
	switch {
	case err == nil:
		return result, nil
	case errors.Is(err, acoustic.ErrNoWatch):
		return result, fmt.Errorf("%s: %w", shown, errNothingHeard)
	case errors.Is(err, recording.ErrUnreadable):
		return result, unusable{fmt.Errorf("%s: %w", shown, oneLine{err})}
	}
	return result, fmt.Errorf("%s: %w", shown, err)
}

func openSound(e *env, name string) (in io.Reader, shown string, closeIn func() error, err error) {
	if name == "-" {
		return e.stdin, "standard input", func() error { return nil }, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, "", nil, err // names the file
	}
	return f, name, f.Close, nil
}

func (c *listenCmd) listen(ctx context.Context, in io.Reader, stderr io.Writer, shown string) (acoustic.Result, error) {
	r, err := recording.Open(in)
	if err != nil {
		return acoustic.Result{}, err
	}
	advance, end := soundProgress(stderr, shown, r.Info())
	defer end()
	return recording.Listen(ctx, r, c.settings(), advance)
}

// rejoin listens again where sound is missing from a file.
func (c *listenCmd) rejoin(ctx context.Context, name string, result acoustic.Result) (acoustic.Result, error) {
	var files []*os.File
	defer func() {
		for _, f := range files {
			f.Close()
		}
	}()
	return recording.Rejoin(ctx, func() (*recording.Reader, error) {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
		return recording.Open(f)
	}, c.settings(), result)
}
