package uncollected

import (
	"fmt"
	"strings"
	"time"
)

// NoticeKind is what a letter to the customer is. The value is kept in the database.
type NoticeKind string

// The letters.
const (
	CollectNotice NoticeKind = "collect" // a reminder; no law asks for it
	FormalNotice  NoticeKind = "formal"  // the one that the profile counts from
)

// Words is k in plain words.
func (k NoticeKind) Words() string {
	if k == FormalNotice {
		return "formal notice"
	}
	return "collect notice"
}

// Notice is a letter that was written.
type Notice struct {
	Kind     NoticeKind
	PostedOn time.Time // civil day; zero until its posting is proven
}

// BlockKind is what stands against going on. The value is kept in the database.
type BlockKind string

// The blocks. Listed is no note: the watch list says it.
const (
	Dispute      BlockKind = "dispute"
	BillDisputed BlockKind = "bill"
	DoubtfulOwn  BlockKind = "owner"
	Listed       BlockKind = "listed"
)

// BlockKinds lists those that people note, in the order in which a form offers them.
func BlockKinds() []BlockKind { return []BlockKind{BillDisputed, Dispute, DoubtfulOwn} }

// Words is k as a sentence.
func (k BlockKind) Words() string {
	switch k {
	case Dispute:
		return "There is a dispute about the watch or the work."
	case BillDisputed:
		return "The customer disputes the bill."
	case DoubtfulOwn:
		return "Whose watch it is, is in doubt."
	}
	return "A serial of this watch is on the shop’s list."
}

// Facts is what is known of a watch that waits to be collected.
type Facts struct {
	ReadyOn time.Time // civil day from which it could be collected
	Today   time.Time
	// OwedMinor is what is still due, in minor units of Currency; Value is the declared value, nil where none was.
	OwedMinor int64
	Value     *int64
	Currency  string
	Notices   []Notice // in the order in which they were written
	Blocks    []BlockKind
}

// Step is how far things are.
type Step string

// The steps, in their order.
const (
	Waiting       Step = "waiting"        // too soon for anything
	CollectDue    Step = "collect due"    // the customer may be reminded
	Reminded      Step = "reminded"       // a collect notice is posted, and the wait runs
	FormalDue     Step = "formal due"     // the profile's wait before the formal notice is over
	NoticeRuns    Step = "notice runs"    // a formal notice is posted, and its time runs
	NoticeOver    Step = "notice over"    // that time is over
	Unconfirmed   Step = "unconfirmed"    // no profile is confirmed: days are counted, nothing is concluded
	StepBlocked   Step = "blocked"        // something stands against going on
	ToBePosted    Step = "to be posted"   // a letter is written, its posting is not proven
	OutsideOfLaw  Step = "outside of law" // the profile's law is not about this watch
	NoNumberFixed Step = "no number"      // the profile has no number for how long the notice runs
)

// Words is s in a few words.
func (s Step) Words() string {
	switch s {
	case Waiting:
		return "waits"
	case CollectDue:
		return "remind the customer"
	case FormalDue:
		return "formal notice is next"
	case NoticeRuns:
		return "formal notice runs"
	case Unconfirmed:
		return "days only"
	case OutsideOfLaw:
		return "outside of the profile"
	case NoticeOver, NoNumberFixed:
		return "the owner decides"
	}
	return string(s)
}

// Standing is how it stands with a watch that waits.
type Standing struct {
	Days  int // since it is ready
	Step  Step
	Next  time.Time // when the next step comes; zero where there is none
	Words string    // what the profile asks next, in a sentence or two
}

// Late reports whether a person should look: something can be done now.
func (s Standing) Late() bool {
	switch s.Step {
	case CollectDue, FormalDue, NoticeOver, ToBePosted, NoNumberFixed:
		return true
	}
	return false
}

// ownerDecides ends every sentence of a wait that is over.
const ownerDecides = " What is done then is for the owner to decide, with advice: the program decides nothing."

// Stand says how it stands with f by the profile that was confirmed; confirmed is false while none is.
func Stand(p Profile, confirmed bool, f Facts) Standing {
	s := Standing{Days: max(0, int(f.Today.Sub(f.ReadyOn).Hours()/24))}
	if !confirmed {
		s.Step, s.Words = Unconfirmed, "The days are counted. What follows from them is said once the owner has confirmed a profile of the place."
		return s
	}
	if len(f.Blocks) > 0 {
		var why []string
		for _, b := range f.Blocks {
			why = append(why, b.Words())
		}
		s.Step, s.Words = StepBlocked, "Nothing follows from the days while this stands. "+strings.Join(why, " ")
		return s
	}
	formal, reminded, unposted := letters(f.Notices)
	switch {
	case unposted != "":
		s.Step, s.Words = ToBePosted, "The "+unposted.Words()+" is written. Post it, and keep the proof here: nothing is counted before."
		return s
	case !formal.IsZero():
		return p.running(s, f, formal)
	}
	return p.before(s, f, reminded)
}

// letters are when the newest of either kind was posted, and the kind of one that is not.
func letters(list []Notice) (formal, reminded time.Time, unposted NoticeKind) {
	for _, n := range list {
		switch {
		case n.PostedOn.IsZero():
			unposted = n.Kind
		case n.Kind == FormalNotice:
			formal, unposted = n.PostedOn, ""
		default:
			reminded, unposted = n.PostedOn, ""
		}
	}
	return formal, reminded, unposted
}

// before is the standing until a formal notice is posted.
func (p Profile) before(s Standing, f Facts, reminded time.Time) Standing {
	due := p.Wait.After(f.ReadyOn)
	switch {
	case f.Today.After(due) && !reminded.IsZero():
		if why := p.outside(f); why != "" {
			s.Step, s.Words = OutsideOfLaw, why
			return s
		}
		s.Step = FormalDue
		s.Words = "The profile asks for the formal notice next, by " + p.Form + "."
		if p.Wait.Fixed() {
			s.Words = "The wait of " + p.Wait.Words() + " is over. " + s.Words
		}
	case reminded.IsZero() && f.Today.After(p.Collect.After(f.ReadyOn)):
		s.Step, s.Words = CollectDue, "Remind the customer by a collect notice. No law asks for it; it is common practice."
	case reminded.IsZero():
		s.Step, s.Next = Waiting, p.Collect.After(f.ReadyOn).AddDate(0, 0, 1)
		s.Words = "A collect notice comes next."
	default:
		s.Step, s.Next = Reminded, due.AddDate(0, 0, 1)
		s.Words = "The wait of " + p.Wait.Words() + " before a formal notice runs."
	}
	return s
}

// running is the standing since a formal notice was posted.
func (p Profile) running(s Standing, f Facts, posted time.Time) Standing {
	if why := p.outside(f); why != "" {
		s.Step, s.Words = OutsideOfLaw, why
		return s
	}
	span := p.Notice
	if f.OwedMinor <= 0 {
		span = p.Unowed
	}
	if !span.Fixed() {
		s.Step, s.Words = NoNumberFixed, "The formal notice is posted. The profile has no number for how long it runs here: ask somebody who knows the law."+ownerDecides
		return s
	}
	over := span.After(posted)
	if f.Today.After(over) {
		s.Step, s.Words = NoticeOver, "The "+span.Words()+" of the formal notice are over."+ownerDecides
		return s
	}
	s.Step, s.Next = NoticeRuns, over.AddDate(0, 0, 1)
	s.Words = "The formal notice runs for " + span.Words() + " from its posting; where it counts from its arrival, add the days." + ownerDecides
	return s
}

// outside says why the profile's law is not about the watch as it stands; "" where it may be.
func (p Profile) outside(f Facts) string {
	switch {
	case p.OnlyOwed && f.OwedMinor <= 0:
		return "Nothing is owed for this watch, and the law of the profile is about goods for which money is owed: ask somebody who knows it."
	case p.ThirdOfValueOver > 0 && f.Value != nil && f.Currency == p.Currency && *f.Value > p.ThirdOfValueOver && 3*f.OwedMinor < *f.Value:
		return fmt.Sprintf("What is owed is less than a third of the declared value, and the law of the profile asks for that above %d %s.",
			p.ThirdOfValueOver/100, p.Currency)
	}
	return ""
}
