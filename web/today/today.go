package today

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// todayRoutes are the first page, and finding and listing dockets.
func (s *Room) todayRoutes() []page.Route {
	return []page.Route{
		page.Get("/", page.Needs(staff.ViewDockets), s.showToday),
		page.Get("/dockets", page.Needs(staff.ViewDockets), s.showDockets),
		page.Get("/find", page.Needs(staff.ViewDockets), s.showFound),
	}
}

// queueRows is how many dockets Today shows under each heading.
const queueRows = 8

// todayGlance is the moment in which Today is looked at, and by whom.
type todayGlance struct {
	now, today time.Time
	who        staff.Member
}

// queue is one thing that dockets may wait for. What belongs to it is asked of the domain.
type queue struct {
	key, heading, note string
	href               string // the list of all, where a filter of the list says the same
	holds              func(store.DocketRow, todayGlance) bool
}

// stageQueue holds every docket of one stage.
func stageQueue(key, heading string, st docket.Stage) queue {
	return queue{key: key, heading: heading, href: "/dockets?stage=" + string(st),
		holds: func(r store.DocketRow, _ todayGlance) bool { return r.Docket.Stage == st }}
}

// atEstimate holds dockets in the estimate stage that have come so far.
func atEstimate(key, heading, note string, holds func(docket.Facts) bool) queue {
	return queue{key: key, heading: heading, note: note,
		holds: func(r store.DocketRow, _ todayGlance) bool {
			return r.Docket.Stage == docket.StageEstimate && holds(r.Facts)
		}}
}

var (
	queueTrials = queue{key: "trials", heading: "Today’s trial positions",
		note: "What each trial of fifteen days needs today.",
		holds: func(r store.DocketRow, g todayGlance) bool {
			return r.Trial != nil && r.Trial.NeedsAt(g.now).Asks()
		}}
	queueBench = queue{key: "bench", heading: "On your bench", note: "What was promised soonest first.",
		holds: func(r store.DocketRow, g todayGlance) bool { return r.BenchID == g.who.ID && atWork(r.Docket.Stage) }}
	queueUnclaimed = queue{key: "unclaimed", heading: "In nobody's hands", note: "Work that has begun.",
		href:  "/dockets?bench=" + benchNobody,
		holds: func(r store.DocketRow, _ todayGlance) bool { return r.BenchID == 0 && atWork(r.Docket.Stage) }}
	queueToPass     = stageQueue("intake", "To pass to the bench", docket.StageIntake)
	queueToDiagnose = stageQueue("diagnose", "To diagnose", docket.StageDiagnosis)
	queueToPrice    = atEstimate("price", "Estimates to price", "",
		func(f docket.Facts) bool { return f.Estimate == docket.EstimateNone })
	queueToSend = atEstimate("send", "Estimates to send", "Priced, not sent, and over the approval limit.",
		func(f docket.Facts) bool { return f.Estimate == docket.EstimateDraft && !f.Agreed() })
	queueAsked = atEstimate("asked", "With the customer", "Sent, and not yet answered.",
		func(f docket.Facts) bool { return f.Estimate == docket.EstimateSent && !f.Agreed() })
	queueAgreed = atEstimate("agreed", "Approvals in", "Approved, or within the approval limit: work can begin.",
		docket.Facts.Agreed)
	queueDeclined = atEstimate("declined", "Declined", "To be priced again or handed back.",
		func(f docket.Facts) bool { return f.Estimate == docket.EstimateDeclined })
	queuePartsIn = queue{key: "parts", heading: "Parts in", note: "Nothing is outstanding any more.",
		holds: func(r store.DocketRow, _ todayGlance) bool {
			return r.Docket.Stage == docket.StageParts && r.Facts.PartsOutstanding == 0
		}}
	queueToTest     = stageQueue("test", "Final tests", docket.StageFinalTest)
	queueReady      = stageQueue("ready", "Ready to collect", docket.StageReady)
	queueToHandBack = queue{key: "back", heading: "To hand back", note: "Declined or withdrawn, still in the shop.",
		holds: func(r store.DocketRow, _ todayGlance) bool { return r.Docket.Stage.Exit() }}
	queueOverdue = queue{key: "overdue", heading: "Overdue", note: "Promised for a day that is past.",
		href:  "/dockets?age=" + ageOverdue,
		holds: func(r store.DocketRow, g todayGlance) bool { return r.Docket.Overdue(g.today) }}
	queueSentOut = queue{key: "sent-out", heading: "Sent out long", href: "/dockets?place=" + string(docket.PlaceSentOut),
		note: fmt.Sprintf("With an outside workshop for more than %d days.", docket.SentOutLongDays),
		holds: func(r store.DocketRow, g todayGlance) bool {
			return docket.SentOutLong(r.Docket.Place, r.PlacedAt, g.now)
		}}
)

// atWork reports whether somebody at a bench should have the docket in hand.
func atWork(st docket.Stage) bool {
	return slices.Contains([]docket.Stage{docket.StageDiagnosis, docket.StageService, docket.StageRegulation,
		docket.StageFinalTest}, st)
}

// queuesFor are what waits for a role, the most pressing first.
func queuesFor(role staff.Role) []queue {
	switch role {
	case staff.Watchmaker:
		return []queue{queueTrials, queueBench, queueOverdue, queueToDiagnose, queueToPrice, queueAgreed, queuePartsIn,
			queueToTest, queueUnclaimed, queueSentOut}
	case staff.Clerk:
		return []queue{queueReady, queueToHandBack, queueOverdue, queueToPass, queueToSend, queueAsked, queueDeclined,
			queueAgreed, queuePartsIn, queueSentOut}
	}
	return []queue{queueOverdue, queueTrials, queueBench, queueToDiagnose, queueToPrice, queueAsked, queueAgreed,
		queueDeclined, queuePartsIn, queueUnclaimed, queueToTest, queueReady, queueToHandBack, queueSentOut}
}

// showToday is the first page: what waits for whoever looks.
func (s *Room) showToday(w http.ResponseWriter, r *http.Request) error {
	open, more, err := s.store.OpenDockets(r.Context())
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	g := todayGlance{now: s.Now(), today: s.Today(r), who: viewer.Member}
	v := todayView{Date: g.today.Format("Monday 2 January 2006"), MayTakeIn: page.May(r, staff.TakeIn), More: more,
		Lede: todayLede(len(open), more)}
	var none []string
	for _, q := range queuesFor(viewer.Member.Role) {
		shown := s.queueView(r, q, open, g)
		if shown.Count == 0 {
			none = append(none, "“"+q.heading+"”")
			continue
		}
		v.Queues = append(v.Queues, shown)
	}
	if len(none) > 0 {
		v.Empty = "Nothing waits under " + strings.Join(none, ", ") + "."
	}
	return page.Render(w, r, http.StatusOK, todayPage(s.Page(r, "Today"), v))
}

func todayLede(open int, more bool) string {
	switch {
	case open == 0:
		return "No watch is in the shop."
	case open == 1:
		return "One watch is in the shop's keeping."
	case more:
		return "More than " + strconv.Itoa(open) + " watches are in the shop's keeping."
	}
	return strconv.Itoa(open) + " watches are in the shop's keeping."
}

func (s *Room) queueView(r *http.Request, q queue, open []store.DocketRow, g todayGlance) queueView {
	var held []store.DocketRow
	for _, row := range open {
		if q.holds(row, g) {
			held = append(held, row)
		}
	}
	if q.key == queueSentOut.key {
		slices.SortStableFunc(held, func(a, b store.DocketRow) int { return a.PlacedAt.Compare(b.PlacedAt) })
	}
	v := queueView{Key: q.key, Heading: q.heading, Note: q.note, Count: len(held), Href: q.href}
	if len(held) > queueRows {
		v.Note = strings.TrimSpace(q.note + fmt.Sprintf(" The first %d of %d.", queueRows, len(held)))
		held = held[:queueRows]
	}
	v.Rows = s.docketRows(r, held)
	for i, row := range held {
		switch q.key {
		case queueSentOut.key:
			v.Rows[i].Since = "since " + shortDay(page.Civil(row.PlacedAt.In(page.ZoneOf(r))), g.today)
		case queueTrials.key:
			t := row.Trial
			v.Rows[i].Waits = text.Sentence(t.NeedsAt(g.now).Text(page.TrialClock(t.Plan.ReadingMinute)))
		case queueBench.key:
			v.Rows[i].Now = i == 0
		}
	}
	return v
}
