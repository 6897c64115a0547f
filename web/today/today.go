package today

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/promise"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// todayRoutes are the first page, and finding and listing dockets.
func (s *Room) todayRoutes() []page.Route {
	return append(s.suggestRoutes(),
		page.Get("/", page.Needs(staff.ViewDockets), s.showToday),
		page.Get("/dockets", page.Needs(staff.ViewDockets), s.showDockets),
		page.Get("/find", page.Needs(staff.ViewDockets), s.showFound),
	)
}

// rowsAtOnce is how many dockets Today shows before one asks for all.
const rowsAtOnce = 12

// longInStageDays is after how many days at one stage a docket is said to stand still.
const longInStageDays = 14

// todayGlance is the moment in which Today is looked at, and by whom.
type todayGlance struct {
	now, today time.Time
	who        staff.Member
}

// task is a docket in the shop as whoever looks has to do with it.
type task struct {
	row  store.DocketRow
	turn docket.Turn
	mine bool // the move is the viewer's
	hand bool // and it is on the viewer's bench
	// trial is what a running trial asks of the day; empty for nothing.
	trial string
	// apart is what else is to be done about it, such as a word to its customer, on the sheet so named; a task that has it stands
	// in the list of that tally alone.
	apart, sheet, list string
}

// tally is a number above the list that narrows it to what it counts.
type tally struct {
	key, heading string
	holds        func(task, todayGlance) bool
}

var (
	tallyMine  = tally{"yours", "Yours now", func(t task, _ todayGlance) bool { return t.mine }}
	tallyShop  = tally{"shop", "The shop’s move", func(t task, _ todayGlance) bool { return t.mine }}
	tallyLate  = tally{"late", "Late", func(t task, g todayGlance) bool { return t.row.Docket.Overdue(g.today) }}
	tallyWeek  = tally{"week", "Promised this week", func(t task, g todayGlance) bool { return t.row.Docket.PromisedSoon(g.today) }}
	tallyStill = tally{"still", "Two weeks at one stage", func(t task, g todayGlance) bool {
		return g.now.Sub(t.row.MovedAt) > longInStageDays*24*time.Hour
	}}
	tallyTrials   = tally{"trials", "Trials to read or set", func(t task, _ todayGlance) bool { return t.trial != "" }}
	tallyAnswered = tally{"answered", "Back from the customer", func(t task, _ todayGlance) bool {
		return t.row.Docket.Stage == docket.StageEstimate &&
			(t.row.Facts.Estimate == docket.EstimateApproved || t.row.Facts.Estimate == docket.EstimateDeclined)
	}}
	tallyBegin = tally{"begin", "Parts in or approved", func(t task, _ todayGlance) bool {
		return t.turn.Side == docket.SideBoth && t.row.Docket.Stage != docket.StageFinalTest
	}}
	tallyCollect = tally{"collect", "Can be collected", func(t task, _ todayGlance) bool {
		return t.row.Docket.Stage == docket.StageReady || t.row.Docket.Stage.Exit()
	}}
	tallyAsked = tally{"asked", "Waits for the customer", func(t task, _ todayGlance) bool {
		return t.turn.Side == docket.SideCustomer
	}}
	tallySlips     = tally{"slips", "Promises that slip", func(t task, _ todayGlance) bool { return t.list == "slips" }}
	tallyTell      = tally{"tell", "To tell customers", func(t task, _ todayGlance) bool { return t.list == "tell" }}
	tallyNobody    = tally{"nobody", "Nobody collects", func(t task, _ todayGlance) bool { return t.list == "nobody" }}
	tallyLent      = tally{"lent", "Loan watches due", func(t task, _ todayGlance) bool { return t.list == "lent" }}
	tallyComebacks = tally{"comebacks", "Comebacks", func(t task, _ todayGlance) bool { return t.row.Comeback }}
	tallyOthers    = tally{"others", "Others’ move", func(t task, _ todayGlance) bool { return !t.mine }}
)

// counts reports whether t counts a task. One that stands apart counts in its own list and in no other.
func (t tally) counts(x task, g todayGlance) bool {
	return (x.list == "" || t.key == x.list) && t.holds(x, g)
}

// askedShown is how much of a question Today shows, in characters.
const askedShown = 60

// tellTasks are what customers are still to be told, or asked.
func tellTasks(list []store.ToTell) []task {
	var tasks []task
	for _, w := range list {
		tell := "Tell " + w.Way.Words() + ": " + w.Topic.Words()
		switch {
		case w.Asks != "":
			tell = "Asks: " + page.Shortened(w.Asks, askedShown)
		case w.Refused:
			tell = "The mail was refused: " + w.Topic.Words()
		case w.Way == message.InPerson:
			tell = "Tell when they come: " + w.Topic.Words()
		}
		sheet := "told"
		if w.Asks != "" { // answered on the docket
			sheet = ""
		}
		tasks = append(tasks, task{row: w.DocketRow, apart: tell, sheet: sheet, list: tallyTell.key, mine: true})
	}
	return tasks
}

// slipTasks are promises that will probably be broken, before they are: their customers are told while it is early. What is late
// already stands among what is late.
func slipTasks(t store.Today, g todayGlance) []task {
	var tasks []task
	for _, row := range t.Open {
		w, slips := t.Slipping[row.Docket.ID]
		if !slips || row.Docket.Overdue(g.today) {
			continue
		}
		tasks = append(tasks, task{row: row, list: tallySlips.key, sheet: "intake", mine: true,
			apart: "Now likely " + shortDay(w.LikelyOn.UTC(), g.today) + ", the promised day " + promise.InTen(w.Percent) + ": tell the customer"})
	}
	return tasks
}

// dueTasks are the watches that nobody collects and those that the shop lent, where something is to be done about them now.
func dueTasks(t store.Today, g todayGlance, zone *time.Location) []task {
	var tasks []task
	for _, step := range t.Due.Steps(g.today, zone) {
		row, ok := t.DueRows[step.DocketID]
		if !ok { // it left while the page was read
			continue
		}
		tasks = append(tasks, task{row: row, list: tallyNobody.key, sheet: "uncollected", mine: true,
			apart: fmt.Sprintf("%s: waits for %d days", text.Capital(step.Step.Words()), step.Days)})
	}
	for _, l := range t.Due.LoansOverdue(g.today) {
		row, ok := t.DueRows[l.DocketID]
		if !ok {
			continue
		}
		why := "their own watch has left"
		if !l.Gone {
			why = "due " + shortDay(l.DueOn, g.today)
		}
		tasks = append(tasks, task{row: row, list: tallyLent.key, sheet: "loan", mine: true,
			apart: "Ask for the loan watch " + l.Watch.Title() + ": " + why})
	}
	return tasks
}

// talliesFor are what a role's day is counted by. The first is what Today opens with.
func talliesFor(role staff.Role) []tally {
	switch role {
	case staff.Watchmaker:
		return []tally{tallyMine, tallyTrials, tallyLate, tallyBegin, tallyComebacks, tallyOthers}
	case staff.Clerk:
		return []tally{tallyMine, tallyTell, tallySlips, tallyAnswered, tallyCollect, tallyNobody, tallyLent, tallyLate, tallyAsked, tallyComebacks,
			tallyOthers}
	}
	return []tally{tallyShop, tallyTell, tallySlips, tallyLate, tallyWeek, tallyStill, tallyTrials, tallyCollect, tallyNobody, tallyLent, tallyComebacks,
		tallyOthers}
}

// showToday is the first page: what is to be done next by whoever looks.
func (s *Room) showToday(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := page.ViewerOf(r.Context())
	tallies := talliesFor(viewer.Member.Role)
	chosen, err := chosenTally(r.URL.Query(), tallies)
	if err != nil {
		return page.BadRequest(err)
	}
	record, err := s.store.Today(r.Context())
	if err != nil {
		return err
	}
	open, more := record.Open, record.More
	g := todayGlance{now: s.Now(), today: s.Today(r), who: viewer.Member}
	tasks := slices.Concat(tasksOf(r, open, g), tellTasks(record.ToTell), slipTasks(record, g), dueTasks(record, g, page.ZoneOf(r)))
	v := todayView{Date: g.today.Format("Monday 2 January 2006"), MayTakeIn: page.May(r, staff.TakeIn), More: more, OrdersLate: record.Due.OrdersLate(g.today),
		InShop: inShop(len(open), more), Heading: chosen.heading}
	if on := record.Uncounted; !on.IsZero() && on.Before(g.today) && page.May(r, staff.CloseTill) {
		v.Uncounted = s.Day(r, on)
	}
	for i, t := range tallies {
		n := count(tasks, t, g)
		if n == 0 && t.key != chosen.key && i > 0 {
			continue
		}
		v.Tallies = append(v.Tallies, tallyView{Key: t.key, Heading: t.heading, Count: n, Current: t.key == chosen.key})
	}
	held := slices.DeleteFunc(tasks, func(t task) bool { return !chosen.counts(t, g) })
	if len(held) > rowsAtOnce && r.URL.Query().Get("rows") != "all" {
		v.AllText = fmt.Sprintf("Show all %d", len(held))
		v.AllHref = "/?show=" + chosen.key + "&rows=all"
		held = held[:rowsAtOnce]
	}
	for i, t := range held {
		v.Rows = append(v.Rows, s.taskView(r, t, g))
		v.Rows[i].Now = i == 0 && t.mine
	}
	return page.Render(w, r, http.StatusOK, todayPage(s.Page(r, "Today"), v))
}

// chosenTally is the one that the address asks for, or the role's first.
func chosenTally(q url.Values, tallies []tally) (tally, error) {
	key := q.Get("show")
	if key == "" {
		return tallies[0], nil
	}
	for _, t := range tallies {
		if t.key == key {
			return t, nil
		}
	}
	return tally{}, fmt.Errorf("show: %q", key)
}

func count(tasks []task, t tally, g todayGlance) int {
	n := 0
	for _, task := range tasks {
		if t.counts(task, g) {
			n++
		}
	}
	return n
}

// tasksOf says of each open docket whose move it is, first what the viewer has in hand, then
// the day's readings of trials and what is late, then by the day promised.
func tasksOf(r *http.Request, open []store.DocketRow, g todayGlance) []task {
	tasks := make([]task, len(open))
	for i, row := range open {
		tasks[i] = taskOf(r, row, g)
	}
	slices.SortStableFunc(tasks, func(a, b task) int {
		return cmp.Or(first(a.mine, b.mine), first(a.hand, b.hand), first(a.trial != "", b.trial != ""),
			first(a.row.Docket.Overdue(g.today), b.row.Docket.Overdue(g.today)))
	})
	return tasks
}

// first puts what is true before what is not.
func first(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

func taskOf(r *http.Request, row store.DocketRow, g todayGlance) task {
	t := task{row: row, turn: docket.NextTurn(row.Docket.Stage, row.Facts)}
	if docket.SentOutLong(row.Docket.Place, row.PlacedAt, g.now) {
		t.turn = docket.Turn{Side: docket.SideCounter, Act: "Ask for it " + t.turn.Act + ": out since " +
			shortDay(page.Civil(row.PlacedAt.In(page.ZoneOf(r))), g.today)}
	}
	bench := g.who.Role != staff.Clerk
	if row.Trial != nil && bench {
		if needs := row.Trial.NeedsAt(g.now); needs.Asks() {
			t.trial = text.Sentence(needs.Text(page.TrialClock(row.Trial.Plan.ReadingMinute)))
		}
	}
	t.hand = row.BenchID != 0 && row.BenchID == g.who.ID
	switch g.who.Role {
	case staff.Owner:
		t.mine = t.turn.OfShop() || t.trial != ""
	case staff.Clerk:
		t.mine = t.turn.Of(false)
	default: // what is on another's bench is not taken from there
		t.mine = (t.turn.Of(true) || t.trial != "") && (row.BenchID == 0 || t.hand)
	}
	t.hand = t.hand && t.mine
	return t
}

// inShop says how many watches the shop keeps.
func inShop(open int, more bool) string {
	switch {
	case open == 0:
		return "No watch is in the shop"
	case open == 1:
		return "1 watch in the shop"
	case more:
		return "more than " + strconv.Itoa(open) + " watches in the shop"
	}
	return strconv.Itoa(open) + " watches in the shop"
}

func (s *Room) taskView(r *http.Request, t task, g todayGlance) taskView {
	d := t.row.Docket
	viewer, _ := page.ViewerOf(r.Context())
	who := customer.Customer{Phone: t.row.Phone, PhoneE164: t.row.PhoneE164}
	v := taskView{Number: d.Number.String(), Watch: t.row.Watch, Customer: t.row.Customer,
		Phone: who.PhoneIn(viewer.Shop.PhoneRegion),
		Act:   text.Capital(t.turn.Act), Waits: !t.turn.OfShop(), Place: d.Place.String(), Bench: t.row.Bench,
		Promised: cmp.Or(d.PromiseWords(g.today), "no day"), Late: d.Overdue(g.today), Comeback: t.row.Comeback}
	if t.row.PhoneE164 != "" {
		v.Tel = "tel:" + t.row.PhoneE164
	}
	if v.Waits {
		v.Act = "Waits: " + t.turn.Act
	}
	if t.trial != "" {
		v.Act, v.Waits = t.trial, false
	}
	if t.apart != "" {
		v.Act, v.Waits, v.ActHref = t.apart, false, view.DocketURL(v.Number, t.sheet)
	}
	return v
}
