package demoshop

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// The timeline holds everything that happened in the shop, in the order it happened: each step is one transaction that
// leaves at least one entry in one docket's journal, and no two steps of a docket share a moment. So the journals
// themselves say how far an interrupted filling came, and the next one goes on from there. Entries of other moments, such as
// that a mail was taken, are no steps.

// deed is what a step does. The change names docket, author and time.
type deed func(ctx context.Context, f *filler, c store.Change) error

// step is one thing done to one docket.
type step struct {
	job *job
	at  time.Time
	by  staff.Role // "" for the customer
	do  deed
	// shows is the photograph that the step adds, to be developed beforehand; "" for none.
	shows picture
	// daily steps are done on Sundays too: a watch on trial is wound and read every day.
	daily bool
}

// job is one watch's stay in the shop, as a list of steps.
type job struct {
	key    string // names it within this package and seeds its figures
	story  *book
	intake arrival
	number docket.Number
	clock  time.Time  // of the next step
	hands  staff.Role // who does the bench work
	steps  []step
	runs   int // of timing runs so far, for their seeds
	drafts int // of estimate revisions so far
	done   time.Time
}

// book holds every job of the demo.
type book struct {
	calendar calendar
	jobs     []*job
	acts     []act // in the order of time
}

// act is what the shop does for no docket. Done again it does what lacks.
type act struct {
	at time.Time
	do func(ctx context.Context, f *filler, at time.Time) error
}

// on sets the clock to so many working days back.
func (j *job) on(back int, clock string) *job {
	at := j.story.calendar.at(back, clock)
	if len(j.steps) > 0 && !at.After(j.steps[len(j.steps)-1].at) {
		panic(fmt.Sprintf("demoshop: %s: the clock goes back to %d, %s", j.key, back, clock))
	}
	j.clock = at
	return j
}

// minutesBetween is how long a step seems to take when the next one follows at once.
const minutesBetween = 7 * time.Minute

// then adds a step at the clock and moves the clock on.
func (j *job) then(by staff.Role, do deed) *job {
	j.steps = append(j.steps, step{job: j, at: j.clock, by: by, do: do})
	j.clock = j.clock.Add(minutesBetween)
	return j
}

// inOrder numbers the jobs as the counter would have, and returns every step in the order of time.
func (b *book) inOrder() []step {
	slices.SortStableFunc(b.jobs, func(x, y *job) int { return x.steps[0].at.Compare(y.steps[0].at) })
	drawn := map[int]int{} // by year
	var steps []step
	for _, j := range b.jobs {
		year := b.calendar.civil(j.steps[0].at).Year()
		drawn[year]++
		j.number = docket.Number{Year: year, Seq: drawn[year]}
		steps = append(steps, j.steps...)
	}
	slices.SortStableFunc(steps, func(x, y step) int { return x.at.Compare(y.at) })
	return steps
}

// run does the steps that are not done yet, and first has the mails taken that an earlier filling left at its last steps.
func (f *filler) run(ctx context.Context, steps []step) error {
	for _, j := range steps[0].job.story.jobs {
		if j.done.IsZero() {
			continue
		}
		if err := f.carry(ctx, j.number); err != nil {
			return err
		}
	}
	var last step // that was done
	acts := steps[0].job.story.acts
	for _, s := range steps {
		for len(acts) > 0 && acts[0].at.Before(s.at) {
			if err := acts[0].do(ctx, f, acts[0].at); err != nil {
				return fmt.Errorf("%s: %w", acts[0].at.Format("2006-01-02 15:04"), err)
			}
			acts = acts[1:]
		}
		if !s.at.After(s.job.done) {
			last = s
			continue
		}
		if err := f.dayEnds(ctx, last, s.at); err != nil {
			return err
		}
		last = s
		if err := s.do(ctx, f, f.change(s)); err != nil {
			return fmt.Errorf("%s, docket %s, %s: %w", s.job.key, s.job.number, s.at.Format("2006-01-02 15:04"), err)
		}
		s.job.done = s.at
		if err := f.carry(ctx, s.job.number); err != nil {
			return err
		}
	}
	return f.evening(ctx, last.at)
}

// dayEnds counts the till of the day of the last step, where the next is done on another.
func (f *filler) dayEnds(ctx context.Context, last step, next time.Time) error {
	if last.job == nil || f.calendar.civil(last.at).Equal(f.calendar.civil(next)) {
		return nil
	}
	return f.evening(ctx, last.at)
}

func (f *filler) change(s step) store.Change {
	c := store.Change{Number: s.job.number, At: s.at}
	if s.by == "" {
		c.By = store.Actor{Customer: true, Name: customers[s.job.intake.customer].Name}
	} else {
		c.By = f.staff[s.by]
	}
	return c
}

// finished reports whether nothing of the steps is left to do, and notes in every job how far its journal goes. A shop
// whose dockets came in at other times was filled by another release, and is finished too.
func (f *filler) finished(ctx context.Context, steps []step) (bool, error) {
	last := steps[len(steps)-1]
	if _, err := f.reached(ctx, last.job); err != nil {
		return false, err
	}
	if !last.at.After(last.job.done) {
		return true, nil
	}
	for _, j := range last.job.story.jobs {
		if same, err := f.reached(ctx, j); err != nil || !same {
			return true, err
		}
	}
	return false, nil
}

// reached notes in the job how far its journal goes, and reports whether its docket, where there is one, came in when
// the job says.
func (f *filler) reached(ctx context.Context, j *job) (same bool, err error) {
	h, err := f.store.Head(ctx, j.number)
	if errors.Is(err, domain.ErrNotFound) {
		return true, nil
	}
	if err != nil || !h.Docket.ReceivedAt.Equal(j.steps[0].at) {
		return false, err
	}
	for before := int64(0); ; {
		entries, err := f.store.Journal(ctx, h.Docket.ID, before)
		if err != nil {
			return true, err
		}
		for _, e := range entries {
			if j.stepAt(e.At) {
				j.done = e.At
				return true, nil
			}
			before = e.Seq
		}
		if len(entries) < store.JournalPage {
			return true, nil
		}
	}
}

// stepAt reports whether a step of the job is done at that moment. Only such an entry tells how far the job came: the mail
// server of the time answers after its step, and may have been asked again once the next step was done.
func (j *job) stepAt(at time.Time) bool {
	return slices.ContainsFunc(j.steps, func(s step) bool { return s.at.Equal(at) })
}

// yearsLookedBack bounds the search for the first docket of a demo that was filled long ago.
const yearsLookedBack = 20

// firstIntake is when the first docket of an earlier filling came in; zero when there is none yet.
func (f *filler) firstIntake(ctx context.Context, now time.Time) (time.Time, error) {
	for year := now.Year() - yearsLookedBack; year <= now.Year(); year++ {
		h, err := f.store.Head(ctx, docket.Number{Year: year, Seq: 1})
		if errors.Is(err, domain.ErrNotFound) {
			continue
		}
		return h.Docket.ReceivedAt, err
	}
	return time.Time{}, nil
}

const (
	minute = time.Minute
	hour   = time.Hour
)
