// Package demoshop fills the invented shop of the demo: Tern Quay Watch Works in the harbour town of
// Saltby. It works through the store as the pages do, so that every docket it makes has the journal that
// real work would have left.
package demoshop

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web"
)

// SignIn is one of the demo shop's people.
type SignIn struct {
	Role, Email, Password string
}

// people are the three who work at Tern Quay.
var people = []struct {
	member   staff.Member
	password string
}{
	{staff.Member{Name: "Ottilie Brandt", Email: "owner@ternquay.example", Role: staff.Owner}, "lighthouse brass ledger"},
	{staff.Member{Name: "Emrys Vale", Email: "bench@ternquay.example", Role: staff.Watchmaker}, "loupe tweezers tide"},
	{staff.Member{Name: "Nuala Reed", Email: "counter@ternquay.example", Role: staff.Clerk}, "ticket harbour bell"},
}

// SignIns tells how to sign in as each of them.
func SignIns() []SignIn {
	var out []SignIn
	for _, p := range people {
		out = append(out, SignIn{Role: p.member.Role.Label(), Email: p.member.Email, Password: p.password})
	}
	return out
}

// filler is what the parts of the demo share while it is filled.
type filler struct {
	store   *store.Store
	uploads *store.Uploads
	now     time.Time
	staff   map[staff.Role]store.Actor
}

// Fill makes the demo shop unless there is one already. Its dockets lie in the weeks before now.
func Fill(ctx context.Context, s *store.Store, uploads *store.Uploads, now time.Time) error {
	if _, err := s.Shop(ctx); err == nil {
		return nil
	} else if !errors.Is(err, domain.ErrNotFound) {
		return err
	}
	f := &filler{store: s, uploads: uploads, now: now.UTC(), staff: map[staff.Role]store.Actor{}}
	for _, part := range []func(context.Context) error{f.people} {
		if err := part(ctx); err != nil {
			return fmt.Errorf("fill the demo shop: %w", err)
		}
	}
	return nil
}

// ago is a point in time so many days and hours before now.
func (f *filler) ago(days, hours int) time.Time {
	return f.now.Add(-time.Duration(days*24+hours) * time.Hour)
}

func (f *filler) people(ctx context.Context) error {
	sh := shop.Defaults()
	sh.Name = "Tern Quay Watch Works"
	sh.Address = "3 Chandlers' Slip\nSaltby"
	sh.Phone = "01632 960 114"
	sh.Email = "counter@ternquay.example"
	sh.TimeZone = "Europe/London"
	sh.Currency = "GBP"
	sh.TaxBasisPoints = 2000
	sh.Instrument = "bench timing instrument"
	sh.InstrumentPPM = 2
	sh.LinkSecret = make([]byte, 32)
	rand.Read(sh.LinkSecret) // never fails, see crypto/rand
	for i, p := range people {
		hash, err := web.HashPassword(p.password)
		if err != nil {
			return err
		}
		var id int64
		if i == 0 {
			id, err = f.store.Found(ctx, sh, p.member, hash, f.ago(60, 0))
		} else {
			id, err = f.store.AddMember(ctx, p.member, hash, f.ago(59, 0))
		}
		if err != nil {
			return err
		}
		f.staff[p.member.Role] = store.Actor{StaffID: id, Name: p.member.Name, Role: p.member.Role}
	}
	return nil
}
