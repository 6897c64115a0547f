package recorder

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"ledgerwheel/domain/published"
)

// made are the arrivals of pulses of a reference at a recorder of known error.
type made struct {
	ppm     float64 // of the recorder
	gain    float64 // of the reference, s/d
	seconds int
	scatter float64 // s, normal
	lost    float64 // share that is not heard
	stray   float64 // share of seconds with another sound in them
	parity  float64 // s, by which every other pulse is late
	correct float64 // ppm that a quartz watch makes good once a minute
}

func (m made) times(r *rand.Rand) []float64 {
	var out []float64
	start := r.Float64()
	for i := range m.seconds {
		if m.stray > 0 && r.Float64() < m.stray {
			out = append(out, (start+float64(i)+0.15+0.7*r.Float64())*(1+m.ppm*1e-6))
		}
	}
	for i := range m.seconds {
		if r.Float64() < m.lost {
			continue
		}
		t := float64(i) / (1 + m.gain/86400)
		t += m.correct * 1e-6 * float64(i%60) // runs off by this, and is set right at each whole minute
		t += m.parity * float64(i%2)
		out = append(out, (start+t)*(1+m.ppm*1e-6)+m.scatter*r.NormFloat64())
	}
	sortFloats(out)
	return out
}

func sortFloats(v []float64) {
	for i := 1; i < len(v); i++ {
		for j := i; j > 0 && v[j] < v[j-1]; j-- {
			v[j], v[j-1] = v[j-1], v[j]
		}
	}
}

// TestFromPulsesWorkedExamples holds the sign and the size against arithmetic done by hand.
func TestFromPulsesWorkedExamples(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	for _, tc := range []struct {
		name string
		in   made
		ref  Reference
		want float64
	}{
		// 48 000 samples a second by name, 48 001.92 in truth: a second lasts 1.00004 s by the recorder.
		{"a recorder fast by 40 ppm counts a second as 1.00004 s", made{ppm: 40, seconds: 120}, Reference{}, 40},
		{"a slow one", made{ppm: -12.5, seconds: 120}, Reference{}, -12.5},
		// A watch gaining 0.864 s/d steps 86400.864 times in a day: 10 ppm early, seen by a true recorder.
		{"a watch that gains, and a true recorder", made{gain: 0.864, seconds: 120}, Reference{RateSPerDay: 0.864}, 0},
		{"the same watch taken for exact makes the recorder look slow by 10 ppm", made{gain: 0.864, seconds: 120},
			Reference{}, -10},
		{"off by the most there is, with gaps", made{ppm: 990, seconds: 1800, lost: 0.5}, Reference{}, 990},
		{"a pulse in five is another's", made{ppm: 3, seconds: 600, stray: 0.2, scatter: 1e-6}, Reference{}, 3},
		{"every other step late", made{ppm: 3, seconds: 61, parity: 2e-3}, Reference{}, 3},
	} {
		e, err := FromPulses(tc.in.times(r), tc.ref)
		// 1e-4 ppm: arithmetic only, but for the microsecond of scatter, which 600 s divide to less than that.
		if err != nil || math.Abs(e.PPM-tc.want) > 1e-4+3*e.FitStdPPM {
			t.Errorf("%s: %+v, %v, want %v ppm", tc.name, e, err, tc.want)
		}
	}
}

// TestFromPulsesCountsWhatIsMissing takes an hour with a gap of five minutes in it.
func TestFromPulsesCountsWhatIsMissing(t *testing.T) {
	t.Parallel()
	all := made{ppm: 600, seconds: 3600, scatter: 20e-6}.times(rand.New(rand.NewPCG(3, 4)))
	e, err := FromPulses(append(all[:1000:1000], all[1300:]...), Reference{})
	if err != nil || e.Missed != 300 || e.Used < 3290 || e.DurationS != 3599 {
		t.Errorf("%+v, %v", e, err)
	}
	if off := math.Abs(e.PPM - 600); off > 4*e.StdPPM || e.StdPPM > 0.001 {
		t.Errorf("off by %v with u = %v", off, e.StdPPM)
	}
	if math.Abs(e.ScatterUs-20) > 1 { // 3300 pulses know their scatter to 1.2 %
		t.Errorf("scatter %v µs, made with 20", e.ScatterUs)
	}
}

func TestFromPulsesRefuses(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 6))
	var stray []float64
	for at := 0.0; at < 200; at += r.ExpFloat64() {
		stray = append(stray, at)
	}
	for name, tc := range map[string]struct {
		times []float64
		want  error
	}{
		"none":                    {nil, ErrTooShort},
		"twenty":                  {made{seconds: 20}.times(r), ErrTooShort},
		"sounds at any time":      {stray, ErrNotRegular},
		"two in a second":         {made{seconds: 200, stray: 1}.times(r)[:0:0], ErrTooShort},
		"a clock off by 3000 ppm": {made{ppm: 3000, seconds: 200}.times(r), ErrNotRegular},
	} {
		if e, err := FromPulses(tc.times, Reference{}); !errors.Is(err, tc.want) {
			t.Errorf("%s: %+v, %v", name, e, err)
		}
	}
}

// within counts in how many of the runs the stated interval, k = 2, holds the truth: 95 % is stated.
func within(t *testing.T, name string, runs int, one func(r *rand.Rand) (off, std float64)) {
	t.Helper()
	r := rand.New(rand.NewPCG(7, uint64(len(name))))
	held := 0
	for range runs {
		if off, std := one(r); math.Abs(off) <= 2*std {
			held++
		}
	}
	t.Logf("%s: the 95 %% interval holds the truth in %.1f %% of %d", name, 100*float64(held)/float64(runs), runs)
	published.Share(t, name, held, runs, 0.95, 3) // there are six
}

// TestPulsesCoverage counts over 2000 made-up calibrations how often the stated uncertainty holds.
func TestPulsesCoverage(t *testing.T) {
	t.Parallel()
	for name, m := range map[string]made{
		"one minute":                   {seconds: 60, scatter: 30e-6},
		"ten minutes":                  {seconds: 600, scatter: 30e-6},
		"ten minutes, lost and strays": {seconds: 600, scatter: 30e-6, lost: 0.3, stray: 0.1, parity: 1e-4},
	} {
		within(t, name, 2000, func(r *rand.Rand) (off, std float64) {
			m.ppm = 100 * (r.Float64() - 0.5)
			e, err := FromPulses(m.times(r), Reference{})
			if err != nil {
				t.Fatal(err)
			}
			return e.PPM - m.ppm, e.StdPPM
		})
	}
	within(t, "a quartz watch of uncertain rate", 2000, func(r *rand.Rand) (off, std float64) {
		m := made{ppm: 20, gain: 0.3 + 0.05*r.NormFloat64(), seconds: 180, scatter: 50e-6}
		e, err := FromPulses(m.times(r), Reference{RateSPerDay: 0.3, U95SPerDay: 0.1})
		if err != nil {
			t.Fatal(err)
		}
		return e.PPM - m.ppm, e.StdPPM
	})
}

// A quartz watch that sets itself right once a minute errs in saw teeth; the uncertainty has to allow for that.
func TestAWatchThatCorrectsItselfOnceAMinute(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(9, 9))
	for _, seconds := range []int{270, 600, 1210} {
		m := made{ppm: 10, seconds: seconds, scatter: 20e-6, correct: 4}
		e, err := FromPulses(m.times(r), Reference{})
		if err != nil || math.Abs(e.PPM-10) > 2*e.StdPPM {
			t.Errorf("%d s: %+v, %v", seconds, e, err)
		}
	}
}

// session plays a live session: sound arrives in pieces of 20 ms, each with a delay of its own.
func session(r *rand.Rand, d time.Duration, ppm float64, server [2]float64, delay func() float64) *ClockSession {
	const rate, piece = 48000, 960
	c := NewClockSession(rate)
	began := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	steps := int(d.Seconds() * rate / piece)
	last := 0.0
	for k := range steps + 1 {
		t := float64(k*piece) / rate / (1 + ppm*1e-6)
		share := float64(k) / float64(steps)
		shown := max(last, t+server[0]*(1-share)+server[1]*share+delay()) // one way, so what comes later can't overtake
		last = shown
		c.Add(int64(k*piece), began.Add(time.Duration(shown*1e9)))
	}
	return c
}

func TestClockSessionWorkedExamples(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(11, 12))
	for _, ppm := range []float64{-80, 0, 35} {
		c := session(r, 20*time.Minute, ppm, [2]float64{}, func() float64 { return 0.004 + 0.003*r.ExpFloat64() })
		e, err := c.Estimate()
		if err != nil || math.Abs(e.PPM-ppm) > max(3*e.FitStdPPM, 0.01) {
			t.Errorf("%+v, %v, want %v ppm", e, err, ppm)
		}
		// √2·5 ms/√3 over 1200 s is 3.40 ppm: the server's share.
		if math.Abs(e.OtherStdPPM-3.402) > 0.01 || e.FitStdPPM > 0.1 {
			t.Errorf("contributions %+v", e)
		}
	}
}

func TestClockSessionRefuses(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(13, 14))
	quick := func() float64 { return 0.002 * r.ExpFloat64() }
	if _, err := session(r, 9*time.Minute, 0, [2]float64{}, quick).Estimate(); !errors.Is(err, ErrTooShort) {
		t.Errorf("nine minutes: %v", err)
	}
	if _, err := NewClockSession(48000).Estimate(); !errors.Is(err, ErrTooShort) {
		t.Errorf("nothing yet: %v", err)
	}
	// A block of 128 samples, 2.7 ms, is lost in the middle: ten minutes would make 4 ppm of it.
	c, at := NewClockSession(48000), time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	last := time.Duration(0)
	for k := range 45000 {
		n := int64(k * 960)
		if k > 20000 {
			n -= 128
		}
		last = max(last, time.Duration(k)*20*time.Millisecond+time.Duration(quick()*1e9))
		c.Add(n, at.Add(last))
	}
	if e, err := c.Estimate(); !errors.Is(err, ErrDropped) {
		t.Errorf("sound lost: %+v, %v", e, err)
	}
	// Half of the sound never came.
	c = NewClockSession(96000)
	for k := range 40000 {
		c.Add(int64(k*960), at.Add(time.Duration(k)*20*time.Millisecond))
	}
	if e, err := c.Estimate(); !errors.Is(err, ErrNotRegular) {
		t.Errorf("half the sound: %+v, %v", e, err)
	}
	c.Add(5, at)
	if d := c.Duration(); d != 0 {
		t.Errorf("a session begun anew lasts %v", d)
	}
}

// TestClockSessionIsBounded runs a session of four days.
func TestClockSessionIsBounded(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(15, 16))
	c, at := NewClockSession(48000), time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	const days = 4
	for k := range days * 86400 {
		c.Add(int64(k)*48000, at.Add(time.Duration((float64(k)*(1-25e-6)+0.01*r.ExpFloat64())*1e9)))
	}
	if len(c.lows) > mostLows {
		t.Errorf("%d stretches are kept", len(c.lows))
	}
	if e, err := c.Estimate(); err != nil || math.Abs(e.PPM-25) > 0.01 || e.Used < leastStretches {
		t.Errorf("%+v, %v", e, err)
	}
}

// TestSessionCoverage counts over 2000 made-up sessions of ten minutes how often the stated uncertainty holds: with a
// server that wanders as is assumed of it, and the line's own share with one that does not.
func TestSessionCoverage(t *testing.T) {
	t.Parallel()
	wander := func(r *rand.Rand) float64 { return ServerSteadyMs * 1e-3 * (2*r.Float64() - 1) }
	coarse := func(r *rand.Rand, ppm float64, server [2]float64) Estimate {
		c := NewClockSession(48000)
		at := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
		const n = 2404 // one message in a quarter of a second
		last := 0.0
		for k := range n + 1 {
			share := float64(k) / n
			shown := 0.25*float64(k)/(1+ppm*1e-6) + server[0]*(1-share) + server[1]*share + 0.02*r.ExpFloat64()
			if r.Float64() < 0.02 {
				shown += 0.3 * r.Float64()
			}
			last = max(last, shown)
			c.Add(int64(k)*12000, at.Add(time.Duration(last*1e9)))
		}
		e, err := c.Estimate()
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	within(t, "sessions, all contributions", 2000, func(r *rand.Rand) (off, std float64) {
		ppm := 100 * (r.Float64() - 0.5)
		e := coarse(r, ppm, [2]float64{wander(r), wander(r)})
		return e.PPM - ppm, e.StdPPM
	})
	within(t, "sessions, the line alone", 2000, func(r *rand.Rand) (off, std float64) {
		ppm := 100 * (r.Float64() - 0.5)
		e := coarse(r, ppm, [2]float64{})
		return e.PPM - ppm, e.FitStdPPM
	})
}
