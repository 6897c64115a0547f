package demoshop

import (
	"context"
	"fmt"

	"ledgerwheel/domain/message"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// told has the customer told of the step before, by a way.
func (j *job) told(way message.Way, own string) *job {
	last := &j.steps[len(j.steps)-1]
	do := last.do
	last.do = func(ctx context.Context, f *filler, c store.Change) error {
		c.Tell = store.Tell{Way: way, Own: own}
		return do(ctx, f, c)
	}
	return j
}

// rang writes down a call.
func (j *job) rang(by staff.Role, k message.Contact) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		k.Number = customers[j.intake.customer].Phone
		return f.store.WriteContact(ctx, c, k)
	})
}

// jotted is a note of somebody who works on it.
func (j *job) jotted(by staff.Role, words string) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.WriteContact(ctx, c, message.Contact{Kind: message.Note, Words: words})
	})
}

// asked is a question to the customer.
func (j *job) asked(by staff.Role, way message.Way, question string) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		c.Tell.Way = way
		return f.store.TellNow(ctx, c, message.Question, question)
	})
}

// passedOn writes down that what waited for a person has been told.
func (j *job) passedOn(by staff.Role, said string) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.ToldSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		for _, m := range sheet.Messages {
			if m.State == message.ToDo {
				return f.store.MessageTold(ctx, c, m.ID, said)
			}
		}
		return fmt.Errorf("nothing waits to be told")
	})
}

// delayed promises the watch so many days later than before, and has the customer told by a way.
func (j *job) delayed(ahead int, way message.Way, own string) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		h, err := f.store.Head(ctx, c.Number)
		if err != nil {
			return err
		}
		said := h.Docket.Intake
		said.PromisedOn = openOn(said.PromisedOn.AddDate(0, 0, ahead))
		c.Tell = store.Tell{Way: way, Own: own}
		return f.store.CorrectIntake(ctx, c, said)
	})
}
