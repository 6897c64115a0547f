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

	"github.com/jackc/pgx/v5/pgxpool"

	"ledgerwheel/domain"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/office"
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
	store    *store.Store
	darkroom *darkroom
	shop     shop.Shop
	calendar calendar
	now      time.Time
	staff    map[staff.Role]store.Actor
	calibres map[string]int64 // ids by name
	houses   map[string]int64 // ids of suppliers by name
}

// Fill makes the demo shop, whose dockets lie in the two years before now. A shop that was filled stays as it is, whatever
// was done in it since; where an earlier filling was interrupted, it goes on from there. A shop that is not this one is
// left alone: it would get people whose passwords everybody knows.
func Fill(ctx context.Context, s *store.Store, uploads *files.Folder, now time.Time) error {
	if err := fill(ctx, s, uploads, now, stories); err != nil {
		return fmt.Errorf("fill the demo shop: %w", err)
	}
	return nil
}

// fill makes the shop with what stories tells.
func fill(ctx context.Context, s *store.Store, uploads *files.Folder, now time.Time, stories func(calendar) []step) error {
	f := &filler{store: s, darkroom: &darkroom{uploads: uploads}, shop: ternQuay(), now: now, staff: map[staff.Role]store.Actor{}}
	if other, err := f.otherShop(ctx); err != nil || other {
		return err
	}
	began, err := f.firstIntake(ctx, now)
	if err != nil {
		return err
	}
	zone := f.shop.Location()
	if began.IsZero() {
		f.calendar = calendarBefore(now, zone)
		return f.hurry(ctx, stories(f.calendar))
	}
	f.calendar = calendarFrom(began, firstBack, zone)
	steps := stories(f.calendar)
	if done, err := f.finished(ctx, steps); err != nil || done {
		return err
	}
	return f.hurry(ctx, steps)
}

// otherShop reports whether there is a shop and it is not the demo's.
func (f *filler) otherShop(ctx context.Context) (bool, error) {
	_, err := f.store.Shop(ctx)
	if errors.Is(err, domain.ErrNotFound) {
		return false, nil
	}
	if err == nil {
		_, err = f.store.CredentialsOf(ctx, staff.NormalEmail(people[0].member.Email))
	}
	if errors.Is(err, domain.ErrNotFound) {
		return true, nil
	}
	return false, err
}

// hurry does the steps through connections whose commits don't wait for the disk. Nothing is lost by that: a power cut
// may take the last of the steps, in their order, and the next filling goes on from there.
func (f *filler) hurry(ctx context.Context, steps []step) error {
	kept := f.store
	defer func() { f.store = kept }()
	cfg := kept.Pool().Config()
	hasty, err := store.Open(ctx, cfg.ConnString(), store.WithTracer(cfg.ConnConfig.Tracer), store.WithMaxConns(2),
		func(c *pgxpool.Config) { c.ConnConfig.RuntimeParams["synchronous_commit"] = "off" })
	if err != nil {
		return err
	}
	defer hasty.Close()
	hasty.UsePublicAddress(kept.PublicAddress())
	if ring := kept.Keys(); ring != nil {
		hasty.UseKeys(ring)
		if err := hasty.MarkEntries(); err != nil {
			return err
		}
	}
	f.store = hasty
	ctx, cancel := context.WithCancel(ctx)
	developed := f.darkroom.developFor(ctx, steps)
	defer developed()
	defer cancel()
	for _, part := range []func(context.Context) error{f.people, f.settings, f.keepCalibres, f.keepRecorders,
		f.watchList, f.carriers, f.loanWatches, f.fillDrawers, f.suppliers, f.priceList, f.openTill, f.insurerLimits, f.otherPrograms, f.holidays} {
		if err := part(ctx); err != nil {
			return err
		}
	}
	return f.run(ctx, steps)
}

// ternQuay is the shop.
func ternQuay() shop.Shop {
	sh := shop.Defaults()
	sh.Name = "Tern Quay Watch Works"
	sh.Address = "3 Chandlers’ Slip\nSaltby"
	sh.Phone = "01632 960 114"
	sh.Email = "counter@ternquay.example"
	sh.TimeZone = "Europe/London"
	sh.Currency = "GBP"
	sh.TaxBasisPoints = 2000
	sh.TaxNumber = "GB999999973" // the one that the tax office keeps for tests
	sh.Instrument = "bench timing instrument"
	sh.InstrumentPPM = 2
	sh.CardByClerk = true
	sh.BenchHourMinor = 4200
	for _, day := range []time.Weekday{time.Tuesday, time.Wednesday, time.Thursday, time.Friday} {
		sh.Hours[day] = []shop.Span{{FromMin: 9 * 60, ToMin: 17*60 + 30}}
	}
	sh.Hours[time.Saturday] = []shop.Span{{FromMin: 9 * 60, ToMin: 13 * 60}}
	sh.FirstStepsAway = true // the shop is two years old
	return sh
}

// openedBack is how many working days ago the shop began to keep its record here.
const openedBack = firstBack + 2

// people adds those of the three who are not there yet, the owner with the shop.
func (f *filler) people(ctx context.Context) error {
	for i, p := range people {
		known, err := f.store.CredentialsOf(ctx, staff.NormalEmail(p.member.Email))
		id := known.Member.ID
		if errors.Is(err, domain.ErrNotFound) {
			id, err = f.addMember(ctx, i == 0, p.member, p.password)
		}
		if err != nil {
			return err
		}
		f.staff[p.member.Role] = store.Actor{StaffID: id, Name: p.member.Name, Role: p.member.Role}
	}
	return nil
}

func (f *filler) addMember(ctx context.Context, founds bool, m staff.Member, password string) (int64, error) {
	hash, err := office.HashPassword(password)
	if err != nil {
		return 0, err
	}
	if !founds {
		return f.store.AddMember(ctx, m, hash, f.calendar.at(openedBack, "09:00"))
	}
	f.shop.LinkSecret = make([]byte, 32)
	rand.Read(f.shop.LinkSecret) // never fails, see crypto/rand
	return f.store.Found(ctx, f.shop, m, hash, f.calendar.at(openedBack, "08:30"))
}

// profile is the owner's word on how long a watch must wait in the place, once.
func (f *filler) profile(ctx context.Context) error {
	confirmed, err := f.store.PlaceProfile(ctx)
	if err != nil || confirmed.Confirmed() {
		return err
	}
	uk, _ := uncollected.ProfileOf(uncollected.UK)
	return f.store.ConfirmProfile(ctx, uk, f.staff[staff.Owner], f.calendar.at(openedBack, "09:11"))
}

func (f *filler) settings(ctx context.Context) error {
	if err := f.logo(ctx); err != nil {
		return err
	}
	if err := f.store.EnsureRateLimits(ctx, f.calendar.at(openedBack, "09:10")); err != nil {
		return err
	}
	if err := f.profile(ctx); err != nil {
		return err
	}
	_, version, err := f.store.MailSettings(ctx)
	if err != nil || version > 0 {
		return err
	}
	// The program's own letter box takes the mail, whatever server stands here.
	return f.store.SaveMailSettings(ctx, message.Settings{Server: message.Server{Host: "mail.ternquay.example", Port: 587, Security: message.StartTLS,
		User: "counter"}, SenderName: "Tern Quay Watch Works", SenderAddress: "counter@ternquay.example"}, 0, f.staff[staff.Owner],
		f.calendar.at(openedBack, "09:12"))
}
