package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
)

// Run is a set of readings taken together.
type Run struct {
	ID           int64     `json:"id"`
	Kind         string    `json:"kind" enum:"as received,after service,adjustment,final"`
	Title        string    `json:"title" example:"after adjustment 2"`
	TakenAt      time.Time `json:"taken_at"`
	TakenBy      string    `json:"taken_by"`
	Note         string    `json:"note,omitempty"`
	Instrument   string    `json:"instrument,omitempty"`
	TemperatureC *float64  `json:"temperature_c,omitempty"`
	LiftAngleDeg float64   `json:"lift_angle_deg,omitempty" doc:"with which the amplitudes were found"`
	Verdict      string    `json:"verdict,omitempty" enum:"pass,fail,undecided,not measured" doc:"by the rate limits that the docket keeps; missing where it has none"`
	Readings     []Reading `json:"readings" nullable:"false"`
}

// Reading is what was read in one position at one state of wind.
type Reading struct {
	Position     string    `json:"position" enum:"CH,FH,3H,6H,9H,12H" doc:"ISO 3158: dial up, dial down, or the hour mark that is uppermost"`
	Hours        float64   `json:"hours_after_winding" doc:"0 at full wind"`
	Again        int       `json:"again,omitempty" doc:"1 and on for one taken again"`
	RateSPerDay  *Measured `json:"rate_s_per_day,omitempty" doc:"gains above zero"`
	AmplitudeDeg *Measured `json:"amplitude_deg,omitempty"`
	BeatErrorMs  *Measured `json:"beat_error_ms,omitempty"`
	TakenAt      time.Time `json:"taken_at"`
	Instrument   string    `json:"instrument,omitempty"`
}

// Measured is a figure with its combined standard uncertainty.
type Measured struct {
	Value float64 `json:"value"`
	U     float64 `json:"u" doc:"combined standard uncertainty (JCGM 100): instrument, clock, resolution and lift angle"`
}

type runsOut struct {
	Body struct {
		Items []Run `json:"items" nullable:"false"`
	}
}

func (a *API) readRuns() {
	op := operation(http.MethodGet, "/dockets/{number}/runs", "list-runs", "The runs of a docket, oldest first", token.Dockets, http.StatusNotFound)
	op.Description += " Those as received, and the newest fifty."
	huma.Register(a.huma, op, func(ctx context.Context, in *NumberIn) (*runsOut, error) {
		n, err := in.number()
		if err != nil {
			return nil, err
		}
		sheet, err := a.store.RegulationSheet(ctx, n)
		if err != nil {
			return nil, a.explain(ctx, err)
		}
		out := &runsOut{}
		out.Body.Items = make([]Run, len(sheet.Runs))
		for i, r := range sheet.Runs {
			out.Body.Items[i] = run(r)
		}
		return out, nil
	})
}

func run(r store.RunRecord) Run {
	sh := r.Sheet
	out := Run{ID: r.ID, Kind: string(sh.Run.Kind), Title: sh.Run.Title(), TakenAt: r.TakenAt, TakenBy: r.TakenBy, Note: sh.Run.Label,
		Instrument: sh.Instrument, TemperatureC: sh.TemperatureC, LiftAngleDeg: sh.LiftAngle.Deg, Verdict: string(r.Outcome),
		Readings: make([]Reading, len(sh.Run.Readings))}
	instruments := sh.Instruments()
	for i, g := range sh.Run.Readings {
		reading := Reading{Position: string(g.Position), Hours: g.HoursAfterWinding, Again: g.Repeat, TakenAt: g.TakenAt}
		if g.Instrument != sh.Instrument {
			reading.Instrument = g.Instrument
		}
		for _, of := range []struct {
			q    timing.Quantity
			into **Measured
		}{{timing.Rate, &reading.RateSPerDay}, {timing.Amplitude, &reading.AmplitudeDeg}, {timing.BeatError, &reading.BeatErrorMs}} {
			if v, ok := instruments.Value(g, of.q); ok {
				*of.into = &Measured{v.Value, v.StdUncertainty}
			}
		}
		out.Readings[i] = reading
	}
	return out
}
