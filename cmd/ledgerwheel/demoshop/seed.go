package demoshop

import (
	"container/heap"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	mathrand "math/rand/v2"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/office"
)

// Seeding says what shop [Seed] makes.
type Seeding struct {
	Dockets int
	Years   int // over which they lie, at least one
	Number  uint64
	// Until is the present: nothing lies at or after it.
	Until    time.Time
	Progress func(done int)
}

// ErrOtherShop refuses to fill a shop that Seed did not begin.
var ErrOtherShop = errors.New("there is a shop already that was not made by seed: it is left as it is. Give an empty folder or database")

// seededPeople work in the shop that Seed makes.
var seededPeople = []staff.Member{
	{Name: "Hedda Marrow", Email: "owner@quillhaven.example", Role: staff.Owner},
	{Name: "Anselm Rook", Email: "bench@quillhaven.example", Role: staff.Watchmaker},
	{Name: "Bettany Holm", Email: "bench2@quillhaven.example", Role: staff.Watchmaker},
	{Name: "Corin Tide", Email: "counter@quillhaven.example", Role: staff.Clerk},
}

// bulkAtOnce is how many dockets are written in one transaction.
const bulkAtOnce = 400

// Seed fills a shop of invented people in bulk, with a history of so many dockets, and returns how it is signed in to, nobody
// where it was begun before: then it goes on to as many dockets as are asked for. What was written stays whole however it is
// broken off. The error wraps ErrOtherShop where there is another shop.
func Seed(ctx context.Context, s *store.Store, in Seeding) ([]SignIn, error) {
	f := &filler{store: s, shop: quillhaven(), staff: map[staff.Role]store.Actor{}}
	f.calendar = calendar{f.shop.Location(), workday(CivilDay(in.Until, f.shop.Location()), 1)}
	in.Until = f.calendar.midnight(CivilDay(in.Until, f.shop.Location()))
	signIns, crew, err := f.begin(ctx, in)
	if err != nil {
		return nil, err
	}
	done, err := s.DocketsGiven(ctx)
	if err != nil {
		return nil, err
	}
	p := newPlan(in, f.calendar, crew)
	for done < in.Dockets {
		last := min(done+bulkAtOnce, in.Dockets)
		if err := s.InBulk(ctx, func(b *store.Bulk) error { return p.write(b, done, last) }); err != nil {
			return nil, err
		}
		if done = last; in.Progress != nil {
			in.Progress(done)
		}
	}
	return signIns, nil
}

// CivilDay is the civil day at a moment in a zone, midnight UTC.
func CivilDay(at time.Time, zone *time.Location) time.Time { return calendar{zone: zone}.civil(at) }

// quillhaven is the shop.
func quillhaven() shop.Shop {
	sh := ternQuay()
	sh.Name, sh.Address, sh.Phone, sh.Email = "Quillhaven Watch Rooms", "11 Ferry Stairs\nQuillhaven", "01632 960 770", "counter@quillhaven.example"
	return sh
}

// begin makes the shop and its people with passwords that are said once, unless it is there.
func (f *filler) begin(ctx context.Context, in Seeding) (list []SignIn, c crew, err error) {
	c = crew{calendar: f.calendar, instrument: f.shop.Instrument, ppm: f.shop.InstrumentPPM}
	opened := in.Until.AddDate(-in.Years, 0, -7)
	_, err = f.store.Shop(ctx)
	fresh := errors.Is(err, domain.ErrNotFound)
	if err != nil && !fresh {
		return nil, c, err
	}
	for i, m := range seededPeople {
		known, err := f.store.CredentialsOf(ctx, staff.NormalEmail(m.Email))
		id := known.Member.ID
		switch {
		case err == nil:
		case !errors.Is(err, domain.ErrNotFound):
			return nil, c, err
		case i == 0 && !fresh:
			return nil, c, ErrOtherShop
		default:
			password := rand.Text()
			hash, err := office.HashPassword(password)
			if err != nil {
				return nil, c, err
			}
			if i == 0 {
				f.shop.LinkSecret = make([]byte, 32)
				rand.Read(f.shop.LinkSecret) // never fails, see crypto/rand
				id, err = f.store.Found(ctx, f.shop, m, hash, opened)
			} else {
				id, err = f.store.AddMember(ctx, m, hash, opened)
			}
			if err != nil {
				return nil, c, err
			}
			list = append(list, SignIn{Role: m.Role.Label(), Email: m.Email, Password: password})
		}
		actor := store.Actor{StaffID: id, Name: m.Name, Role: m.Role}
		switch m.Role {
		case staff.Owner:
			c.owner = actor
			c.makers = append(c.makers, actor)
		case staff.Watchmaker:
			c.makers = append(c.makers, actor)
		case staff.Clerk:
			c.clerk = actor
		}
	}
	if err := f.store.EnsureRateLimits(ctx, opened); err != nil {
		return nil, c, err
	}
	return list, c, f.seedCalibres(ctx, store.CalibreChange{By: c.owner, At: opened, Why: "from the maker’s sheet"})
}

// seedCalibres adds the calibres that the list lacks.
func (f *filler) seedCalibres(ctx context.Context, change store.CalibreChange) error {
	kept, err := f.store.Calibres(ctx)
	known := map[string]bool{}
	for _, k := range kept {
		known[k.Name] = true
	}
	for _, k := range calibres {
		if err == nil && !known[k.Name] {
			_, err = f.store.AddCalibre(ctx, change, k)
		}
	}
	return err
}

// plan says when which docket comes in.
type plan struct {
	Seeding
	crew
	early, late []time.Time // working days: of the many, and of the last weeks, whose dockets may be open still
	kept        int         // of those of the last weeks
	returning   comebacks
	customers   []brought // whose watches left, the newest last
}

// brought is a watch that was taken in before.
type brought struct {
	customer customer.Customer
	watch    watch.Watch
	of       int64 // docket under whose warranty it comes
	at       time.Time
}

const (
	// recentDays is for how many days before the present the last dockets come in. Who came in before has left, but for a few.
	recentDays = 45
	// mostRecent is how many they are at most, so that there are not more open dockets in a great shop.
	mostRecent = 320
	// fewestRecent of all come in then, where there are so many.
	fewestRecent = 150
	// keptCustomers is of how many customers one may come again.
	keptCustomers = 2000
	comesAgain    = 0.2
	isFirm        = 0.06
)

func newPlan(in Seeding, c calendar, people crew) *plan {
	p := &plan{Seeding: in, crew: people}
	present := c.civil(in.Until)
	from, split := present.AddDate(-in.Years, 0, 0), present.AddDate(0, 0, -recentDays)
	for day := workday(from, -1); day.Before(present); day = workday(day, -1) {
		if day.Before(split) {
			p.early = append(p.early, day)
		} else {
			p.late = append(p.late, day)
		}
	}
	p.kept = min(in.Dockets, mostRecent, max(fewestRecent, in.Dockets*recentDays/(365*in.Years)))
	return p
}

// at is when docket i, counted from 0, comes in.
func (p *plan) at(i int) time.Time {
	days, i, n := p.early, i, p.Dockets-p.kept
	if i >= n {
		days, i, n = p.late, i-n, p.kept
	}
	const open, shut = 9*60 + 5, 16*60 + 30
	place := float64(i) * float64(len(days)) / float64(n)
	day := int(place)
	return p.midnight(days[day]).Add(open*minute + time.Duration((place-float64(day))*(shut-open)*60)*time.Second)
}

// write lives the dockets first to last, the last left out.
func (p *plan) write(b *store.Bulk, first, last int) error {
	returning, customers := append(comebacks{}, p.returning...), append([]brought{}, p.customers...)
	for i := first; i < last; i++ {
		if err := p.one(b, i); err != nil {
			p.returning, p.customers = returning, customers
			return fmt.Errorf("docket %d of %d: %w", i+1, p.Dockets, err)
		}
	}
	return nil
}

func (p *plan) one(b *store.Bulk, i int) error {
	random := mathrand.New(mathrand.NewPCG(p.Number, uint64(i)))
	at := p.at(i)
	in := store.TakingIn{NewCustomer: true, NewWatch: true, Condition: conditionOf(nil), Place: safe, By: p.clerk, At: at}
	in.Shop = quillhaven()
	received := in.ReceivedOn()
	switch {
	case len(p.returning) > 0 && !p.returning[0].at.After(at):
		back := heap.Pop(&p.returning).(brought)
		in.CustomerID, in.Customer, in.WatchID, in.Watch = back.customer.ID, back.customer, back.watch.ID, back.watch
		in.Intake = docket.Intake{Complaint: "It stops again, or gains.", Wanted: docket.WantedWarranty, WarrantyOf: back.of, ApprovalLimitMinor: new(int64),
			PromisedOn: openOn(received.AddDate(0, 0, 18))}
	default:
		p.customerOf(&in, random, i)
		in.Watch = seededWatch(random, i)
		wish := wishes[random.IntN(len(wishes))]
		in.Intake = docket.Intake{Complaint: wish.complaint, Wanted: wish.wanted, PromisedOn: openOn(received.AddDate(0, 0, wish.days))}
		if random.Float64() < 0.4 {
			in.Intake.DeclaredValueMinor = amount(int64(100+random.IntN(60)*50) * 100)
		}
	}
	d, err := b.TakeIn(in)
	if err != nil {
		return err
	}
	l := &life{BulkDocket: d, shop: p.crew, random: random, clock: at, until: p.Until}
	if err := l.live(); err != nil {
		return fmt.Errorf("at %s in %s: %w", l.clock, d.Stage, err)
	}
	p.left(l)
	return nil
}

// customerOf is somebody new, or one whose watch left.
func (p *plan) customerOf(in *store.TakingIn, random *mathrand.Rand, i int) {
	if len(p.customers) > 0 && random.Float64() < comesAgain {
		in.Customer = p.customers[random.IntN(len(p.customers))].customer
		in.CustomerID, in.NewCustomer = in.Customer.ID, false
		return
	}
	in.Customer = seededCustomer(random, i).Tidied(in.Shop.PhoneRegion)
}

// left notes who may come again, and that some do under warranty.
func (p *plan) left(l *life) {
	if !l.Closed() {
		return
	}
	back := brought{customer: l.Customer, watch: l.Watch, of: l.ID}
	if len(p.customers) < keptCustomers {
		p.customers = append(p.customers, back)
	} else {
		p.customers[l.random.IntN(keptCustomers)] = back
	}
	share := returns
	if l.worst() {
		share = returnsOfWorst
	}
	if l.Stage != docket.StageHandedOver || !l.chance(share) {
		return
	}
	l.after(untilBack)
	back.at = l.clock
	heap.Push(&p.returning, back)
}

// comebacks are watches that come back under warranty, the next first.
type comebacks []brought

func (c comebacks) Len() int           { return len(c) }
func (c comebacks) Less(i, k int) bool { return c[i].at.Before(c[k].at) }
func (c comebacks) Swap(i, k int)      { c[i], c[k] = c[k], c[i] }

// Push adds one; see heap.Push.
func (c *comebacks) Push(x any) { *c = append(*c, x.(brought)) }

// Pop takes the last; see heap.Pop.
func (c *comebacks) Pop() any {
	old := *c
	last := old[len(old)-1]
	*c = old[:len(old)-1]
	return last
}

var wishes = []struct {
	wanted    docket.Wanted
	days      int
	complaint string
}{
	{docket.WantedService, 26, "Loses time since the spring."}, {docket.WantedService, 26, "Stops at night."}, {docket.WantedService, 26, "Not serviced for ten years."},
	{docket.WantedService, 26, "Stops when it lies on its back."}, {docket.WantedService, 26, "Gains a minute a day."}, {docket.WantedRepair, 24, "Dropped; it rattles."},
	{docket.WantedRepair, 24, "The hands do not set."}, {docket.WantedRegulation, 24, "Gains on the wrist."}, {docket.WantedCase, 24, "Mist under the glass."},
	{docket.WantedAdvice, 24, "Grandfather’s; is it worth it?"},
}
