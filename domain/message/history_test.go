package message

import (
	"math/rand/v2"
	"testing"
	"time"
)

// histories is how many random histories TestNoMailIsLostOrSentTwice goes through.
const histories = 10_000

// world is a record, a mail server and copies of the program that hand mails from the one to the other, any of which may
// fail at any moment. Nothing but what is committed outlives a copy, and any copy may take up any mail: what a queue does to
// keep copies apart is left out, so that the rules alone must.
type world struct {
	*rand.Rand
	t      *testing.T
	now    time.Time
	kept   map[int]*Delivery // committed; a change that was rolled back leaves nothing
	holds  map[int]Hold
	copies []*program
	taken  map[int]int  // by the server, of each Message-ID
	lost   map[int]int  // takings of which the record did not hear before the next try
	gone   map[int]bool // withdrawn
	calm   bool         // nothing fails any more
	counts struct{ taken, twice, lost, refused, withdrawn, givenUp, rolledBack, crashes int }
}

// program is one copy: what it holds in memory of one mail.
type program struct {
	skew   time.Duration // of its clock
	mail   int           // in hand; -1 for none
	begun  time.Time
	stage  int // 1 begun, 2 answered
	answer Answer
	over   bool // handed over
}

func (w *world) chance(percent int) bool { return !w.calm && w.IntN(100) < percent }

// write is the change that causes a mail: committed with it, or neither.
func (w *world) write(id int) {
	if w.chance(10) {
		w.counts.rolledBack++
		return
	}
	w.kept[id] = &Delivery{State: Queued, QueuedAt: w.now}
}

func (w *world) crash(p *program) {
	w.counts.crashes++
	w.forget(p)
}

func (w *world) forget(p *program) {
	if p.mail >= 0 && p.over {
		w.lost[p.mail]++
		w.counts.lost++
	}
	*p = program{skew: p.skew, mail: -1}
}

// step has a copy do its next step, or fail at it.
func (w *world) step(p *program) {
	now := w.now.Add(p.skew)
	switch p.stage {
	case 0:
		w.take(p, now)
	case 1:
		w.handOver(p, now)
	case 2:
		w.settle(p, now)
	}
}

// take begins a try in one transaction.
func (w *world) take(p *program, now time.Time) {
	id := w.IntN(6)
	d := w.kept[id]
	if d == nil {
		return
	}
	switch decision := d.Decide(now, w.holds[id]); decision.Act {
	case GiveUp:
		if decision.Why == "" {
			w.t.Fatal("given up without a reason")
		}
		d.State = Refused
		w.counts.givenUp++
	case Wait:
		if !decision.Until.After(now) {
			w.t.Fatalf("waits until %v, which is over at %v", decision.Until, now)
		}
	case Try:
		if w.chance(5) {
			w.crash(p) // before the commit
			return
		}
		*d = d.Begin(now)
		p.mail, p.begun, p.stage = id, now, 1
		if w.chance(5) {
			w.crash(p) // after it
		}
	}
}

// handOver speaks to the server, which does what it likes.
func (w *world) handOver(p *program, now time.Time) {
	if w.chance(5) {
		w.crash(p)
		return
	}
	p.stage = 2
	if !MayHandOver(p.begun, now) {
		p.answer = Answer{Step: Connect, Said: "too late"}
		return
	}
	switch n := w.IntN(100); {
	case !w.calm && n < 12:
		p.answer = Answer{Step: Connect, Said: "refused"}
	case !w.calm && n < 24:
		p.answer = Answer{Step: ToAddress, Code: 451, Said: "greylisted"}
	case !w.calm && n < 30:
		p.answer = Answer{Step: ToAddress, Code: 550, Enhanced: "5.1.1", Said: "no such user"}
	case !w.calm && n < 36:
		p.answer = Answer{Step: Content, Said: "connection reset"} // before the last line
	default:
		w.accept(p)
	}
}

func (w *world) accept(p *program) {
	if w.gone[p.mail] {
		w.t.Fatalf("mail %d was withdrawn and is sent all the same", p.mail)
	}
	w.taken[p.mail]++
	w.counts.taken++
	if w.taken[p.mail] > 1 {
		w.counts.twice++
	}
	if w.taken[p.mail] > 1+w.lost[p.mail] {
		w.t.Fatalf("mail %d is taken %d times, and %d answers were lost", p.mail, w.taken[p.mail], w.lost[p.mail])
	}
	p.over = true
	switch {
	case w.chance(10): // the line breaks before the answer
		p.answer = Answer{Step: Content, Lost: true, Said: "connection reset"}
		p.over = false
		w.lost[p.mail]++
		w.counts.lost++
	case w.chance(10): // the copy ends with the answer in hand
		w.crash(p)
	default:
		p.answer = Answer{Step: Content, Taken: true}
	}
}

// settle writes the outcome down, in one transaction that may not come about.
func (w *world) settle(p *program, now time.Time) {
	if w.chance(6) {
		w.crash(p) // before the commit
		return
	}
	d := w.kept[p.mail]
	*d = d.Settle(p.begun, p.answer, now)
	if p.answer.Taken && d.State != Sent {
		w.t.Fatalf("mail %d was taken and said so, and is %s", p.mail, d.State)
	}
	*p = program{skew: p.skew, mail: -1}
}

// overdue counts an answer that could not be written down within the lease among the lost ones: another copy may try.
func (w *world) overdue() {
	for _, p := range w.copies {
		if p.over && w.now.Sub(p.begun) >= Lease-2*time.Minute {
			p.over = false
			w.lost[p.mail]++
			w.counts.lost++
		}
	}
}

func (w *world) withdraw(id int) {
	d := w.kept[id]
	if d == nil || d.Withdraw(w.now) != nil {
		return
	}
	d.State = Withdrawn
	w.gone[id] = true
	w.counts.withdrawn++
}

func (w *world) run() {
	for id := range 6 {
		w.write(id)
	}
	for range 40 + w.IntN(80) {
		switch n := w.IntN(100); {
		case n < 80:
			w.step(w.copies[w.IntN(len(w.copies))])
		case n < 84:
			w.crash(w.copies[w.IntN(len(w.copies))])
		case n < 86:
			w.withdraw(w.IntN(6))
		case n < 87:
			w.holds[w.IntN(6)] = Hold(w.IntN(int(CameBack) + 1))
		default:
			w.now = w.now.Add(time.Duration(w.ExpFloat64() * float64(20*time.Minute)))
			w.overdue()
		}
	}
	w.calm = true
	for id, hold := range w.holds {
		if hold == NotSetUp {
			w.holds[id] = Free
		}
	}
	for range 7 * 24 {
		for range 60 {
			w.step(w.copies[w.IntN(len(w.copies))])
		}
		w.now = w.now.Add(time.Hour)
		w.overdue()
	}
	w.check()
}

// check holds the end of a history to what is promised.
func (w *world) check() {
	for id := range 6 {
		d := w.kept[id]
		switch {
		case d == nil && w.taken[id] > 0:
			w.t.Fatalf("mail %d was never committed and is sent", id)
		case d == nil:
		case d.State == Queued:
			w.t.Fatalf("mail %d still waits a week later: %+v", id, *d)
		case d.State == Sent && w.taken[id] == 0:
			w.t.Fatalf("mail %d is called sent, and the server never took it", id)
		case d.State == Refused && w.taken[id] > w.lost[id]:
			w.t.Fatalf("mail %d is called refused, and the server took it and said so", id)
		case d.State == Refused:
			w.counts.refused++
		}
	}
}

// TestNoMailIsLostOrSentTwice goes through random histories of crashes at every point, answers of every kind, clocks that
// differ and two copies at work. No mail that was committed is lost; none that was withdrawn is sent afterwards; and one is
// sent twice only where the server's answer to the first did not reach the record.
func TestNoMailIsLostOrSentTwice(t *testing.T) {
	t.Parallel()
	var all world
	for seed := range uint64(histories) {
		w := &world{Rand: rand.New(rand.NewPCG(seed, 15)), t: t, now: time.Date(2026, 11, 30, 9, 0, 0, 0, time.UTC), kept: map[int]*Delivery{},
			holds: map[int]Hold{}, taken: map[int]int{}, lost: map[int]int{}, gone: map[int]bool{}}
		for range 2 {
			w.copies = append(w.copies, &program{mail: -1, skew: time.Duration(w.IntN(120)-60) * time.Second})
		}
		w.run()
		c, sum := w.counts, &all.counts
		sum.taken, sum.twice, sum.lost, sum.refused = sum.taken+c.taken, sum.twice+c.twice, sum.lost+c.lost, sum.refused+c.refused
		sum.withdrawn, sum.givenUp, sum.rolledBack, sum.crashes = sum.withdrawn+c.withdrawn, sum.givenUp+c.givenUp,
			sum.rolledBack+c.rolledBack, sum.crashes+c.crashes
	}
	t.Logf("%d histories: %+v", histories, all.counts)
	for what, n := range map[string]int{"taken": all.counts.taken, "sent twice": all.counts.twice, "lost answers": all.counts.lost,
		"refused": all.counts.refused, "withdrawn": all.counts.withdrawn, "given up": all.counts.givenUp} {
		if n < histories/20 {
			t.Errorf("%s only %d times: the histories try too little", what, n)
		}
	}
}
