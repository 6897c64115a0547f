package promise_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/promise"
	"ledgerwheel/domain/shop"
)

// madeUp is a shop that is simulated a quarter of an hour at a time: watches queue for benches, some go first, work is
// interrupted by nothing but the end of the day. It shares no code with the package and no idea of how a stay comes about:
// the package sees only how long watches stood where.
type madeUp struct {
	kind     string
	benches  int
	perDay   float64 // watches taken in on an open day
	days     int     // of the calendar
	hours    string
	holidays []shop.Holiday
	approval float64 // days of the calendar, median
	parts    float64 // share that need parts
	lead     []float64
	tail     float64 // shape of Pareto's law for the work, 0 for a lognormal
	season   float64 // how much more comes in summer than in winter
	// from half the days on
	slower  float64 // the work takes so many times as long
	arrives float64 // and so many times as many watches come
	hired   int     // benches added
}

// quarter is how long a step of the simulation is.
const quarter = 15 * time.Minute

// job is one watch on its way.
type job struct {
	promise.Watch
	first  bool // goes before others
	bench  int
	todo   []task
	ready  bool
	waking time.Time // until when it waits
}

// task is one thing to be done: so many quarters of an hour at a bench, or a wait of the calendar.
type task struct {
	stage    docket.Stage
	quarters float64
	wait     time.Duration
}

// run simulates the shop and gives its watches as a record would have them at the end of the last day.
func (m madeUp) run(seed uint64) (*promise.Calendar, []promise.Watch, time.Time) {
	chance := rand.New(rand.NewPCG(seed, 1))
	hours, err := shop.ParseHours(m.hours)
	if err != nil {
		panic(err)
	}
	begin := time.Date(2023, 1, 2, 0, 0, 0, 0, time.UTC)
	end := begin.AddDate(0, 0, m.days)
	var jobs []*job
	benches := make([]*job, m.benches, m.benches+m.hired)
	for day := begin; day.Before(end); day = day.AddDate(0, 0, 1) {
		spans := hours[day.Weekday()]
		if slices.ContainsFunc(m.holidays, func(h shop.Holiday) bool { return h.Closes(day) }) {
			spans = nil
		}
		late := day.Sub(begin) > end.Sub(begin)/2
		if late && len(benches) == m.benches {
			benches = append(benches, make([]*job, m.hired)...)
		}
		coming := m.arrivals(chance, day, spans, late)
		for _, s := range spans {
			for minute := s.FromMin; minute < s.ToMin; minute += 15 {
				now := day.Add(time.Duration(minute) * time.Minute)
				for len(coming) > 0 && !coming[0].After(now) {
					jobs = append(jobs, m.taken(chance, int64(len(jobs)+1), now, late))
					coming = coming[1:]
				}
				wake(jobs, now)
				for b := range benches {
					benches[b] = work(jobs, benches[b], b, now)
				}
			}
		}
	}
	watches := make([]promise.Watch, len(jobs))
	for i, j := range jobs {
		watches[i] = j.Watch
	}
	return promise.NewCalendar(hours, m.holidays, time.UTC, begin, end), watches, end
}

// arrivals are the moments of a day at which watches come.
func (m madeUp) arrivals(chance *rand.Rand, day time.Time, spans []shop.Span, late bool) []time.Time {
	if len(spans) == 0 {
		return nil
	}
	rate := m.perDay * (1 - m.season*math.Cos(2*math.Pi*float64(day.YearDay())/365))
	if late && m.arrives > 0 {
		rate *= m.arrives
	}
	n, left := 0, math.Exp(-rate) // Knuth's way to a number of Poisson's
	for p := chance.Float64(); p > left; p *= chance.Float64() {
		n++
	}
	list := make([]time.Time, n)
	for i := range list {
		s := spans[chance.IntN(len(spans))]
		list[i] = day.Add(time.Duration(s.FromMin+chance.IntN(s.ToMin-s.FromMin)) * time.Minute)
	}
	slices.SortFunc(list, time.Time.Compare)
	return list
}

// taken is a watch at the counter, with all that will have to be done to it.
func (m madeUp) taken(chance *rand.Rand, id int64, now time.Time, late bool) *job {
	factor := 1.0
	if late && m.slower > 0 {
		factor = m.slower
	}
	spread := func(hours, sd float64) float64 {
		if m.tail > 0 {
			return 4 * hours * factor * 0.6 * math.Pow(1-chance.Float64(), -1/m.tail)
		}
		return 4 * hours * factor * math.Exp(sd*chance.NormFloat64())
	}
	days := func(median, sd float64) time.Duration {
		return time.Duration(median * math.Exp(sd*chance.NormFloat64()) * 24 * float64(time.Hour))
	}
	j := &job{first: chance.Float64() < 0.15, bench: -1}
	j.ID, j.Received, j.Kind, j.Comeback = id, now, "full service", chance.Float64() < 0.07
	size := 4.5
	if chance.Float64() < 0.3 {
		j.Kind, size = "repair", 2
	}
	j.todo = []task{{stage: docket.StageDiagnosis, quarters: spread(0.6, 0.5)}, {stage: docket.StageEstimate, wait: days(m.approval, 1)}}
	if !j.Comeback && chance.Float64() < m.parts {
		lead := m.lead[chance.IntN(len(m.lead))]
		j.todo = append(j.todo, task{stage: docket.StageParts, wait: days(lead, 0.35)})
	}
	j.todo = append(j.todo, task{stage: docket.StageService, quarters: spread(size, 0.4)})
	for range 3 {
		j.todo = append(j.todo, task{stage: docket.StageRegulation, quarters: spread(0.8, 0.4)},
			task{stage: docket.StageFinalTest, wait: time.Duration(24+24*chance.IntN(2)) * time.Hour})
		if chance.Float64() < 0.88 {
			break
		}
	}
	j.move(docket.StageIntake, now)
	return j
}

func (j *job) move(to docket.Stage, now time.Time) {
	if n := len(j.Stays); n > 0 {
		if j.Stays[n-1].Stage == to {
			return
		}
		j.Stays[n-1].Until = now
	}
	j.Stays = append(j.Stays, promise.Stay{Stage: to, Since: now})
}

// next takes a watch on to what is to be done next: to a wait, which begins at once, or into a queue.
func (j *job) next(now time.Time) {
	j.todo = j.todo[1:]
	switch {
	case len(j.todo) == 0:
		j.ready = true
		j.move(docket.StageReady, now)
	case j.todo[0].wait > 0:
		j.waking = now.Add(j.todo[0].wait)
		j.move(j.todo[0].stage, now)
	default:
		j.move(j.todo[0].stage, now)
	}
}

// wake ends the waits that are over.
func wake(jobs []*job, now time.Time) {
	for _, j := range jobs {
		if !j.ready && j.todo[0].wait > 0 && !j.waking.After(now) {
			j.next(now)
		}
	}
}

// work is a quarter of an hour at a bench: on what lies there, else on what goes first of those that wait.
func work(jobs []*job, on *job, bench int, now time.Time) *job {
	if on == nil {
		for _, j := range jobs {
			if j.ready || j.todo[0].wait > 0 || j.bench >= 0 && j.bench != bench || j.Bench < 0 {
				continue
			}
			if on == nil || j.before(on) {
				on = j
			}
		}
		if on == nil {
			return nil
		}
		on.bench, on.Watch.Bench = bench, -int64(bench+1) // in hand
		on.move(on.todo[0].stage, now)
	}
	on.todo[0].quarters--
	if on.todo[0].quarters > 0 {
		return on
	}
	on.Watch.Bench = int64(bench + 1)
	on.next(now.Add(quarter))
	return nil
}

// before says that j is taken in hand before k: comebacks and urgent watches, then those that are further on, then by age.
func (j *job) before(k *job) bool {
	rank := func(w *job) int {
		switch {
		case w.Comeback || w.first:
			return 0
		case w.todo[0].stage != docket.StageDiagnosis:
			return 1
		}
		return 2
	}
	return rank(j) < rank(k)
}

// kinds are ten kinds of shop.
func kinds() []madeUp {
	plain := madeUp{kind: "one bench", benches: 1, perDay: 0.75, days: 440, hours: "Mo-Fr 09:00-17:00", approval: 2, parts: 0.35, lead: []float64{8}}
	with := func(kind string, change func(*madeUp)) madeUp {
		m := plain
		m.kind = kind
		change(&m)
		return m
	}
	return []madeUp{
		plain,
		with("few watches", func(m *madeUp) { m.perDay, m.days = 0.25, 500 }),
		with("many watches, three benches", func(m *madeUp) { m.benches, m.perDay, m.days = 3, 2.6, 220 }),
		with("slow approvals", func(m *madeUp) { m.approval = 9 }),
		with("heavy tails", func(m *madeUp) { m.tail, m.perDay = 1.8, 0.6 }),
		with("seasonal", func(m *madeUp) { m.season, m.perDay, m.days = 0.35, 0.7, 520 }),
		with("four days a week, holidays", func(m *madeUp) {
			m.hours, m.perDay = "Tu-Fr 10:00-13:00, 14:00-19:00", 0.8
			m.holidays = []shop.Holiday{
				{Name: "Summer", From: date(2023, 7, 31), To: date(2023, 8, 18), Yearly: true},
				{Name: "Year's end", From: date(2023, 12, 23), To: date(2024, 1, 2), Yearly: true},
				{Name: "Easter", From: date(2023, 4, 7), To: date(2023, 4, 10)}}
		}),
		with("parts with lead times", func(m *madeUp) { m.parts, m.lead = 0.75, []float64{4, 12, 35} }),
		with("twice as slow from half-way", func(m *madeUp) { m.slower, m.perDay, m.arrives, m.days = 2, 0.62, 0.75, 560 }),
		with("a second bench from half-way", func(m *madeUp) { m.perDay, m.hired, m.arrives = 0.85, 1, 1.3 }),
	}
}

func date(year int, month time.Month, day int) time.Time {
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}
