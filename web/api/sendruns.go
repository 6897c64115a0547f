package api

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
)

// NewRun is a run as an instrument's own software sends it.
type NewRun struct {
	Kind           string       `json:"kind" enum:"as received,after service,adjustment,final"`
	Touched        []string     `json:"touched,omitempty" enum:"cleaned,beat,pins,spring,poise,regulator" doc:"on the watch before an adjustment"`
	Note           string       `json:"note,omitempty" maxLength:"120"`
	Instrument     string       `json:"instrument" minLength:"1" maxLength:"120" doc:"as the shop names it; readings of one name share a clock"`
	ClockWithinPPM *float64     `json:"clock_within_ppm,omitempty" minimum:"0" maximum:"1000" doc:"half-width within which its clock is right, parts per million, rectangular; 50 where it is not given: a clock never calibrated"`
	TemperatureC   *float64     `json:"temperature_c,omitempty" minimum:"-40" maximum:"80"`
	Resolution     Resolution   `json:"resolution,omitempty" doc:"least steps of the figures as sent"`
	Confirmed      bool         `json:"confirmed,omitempty" doc:"figures that look like slips are as they were read: somebody looked"`
	Readings       []NewReading `json:"readings" minItems:"1" maxItems:"200" nullable:"false"`
}

// Resolution is the least step of each kind of figure, of which half to either side is its uncertainty.
type Resolution struct {
	RateSPerDay  float64 `json:"rate_s_per_day,omitempty" minimum:"0" maximum:"10" default:"1"`
	AmplitudeDeg float64 `json:"amplitude_deg,omitempty" minimum:"0" maximum:"10" default:"1"`
	BeatErrorMs  float64 `json:"beat_error_ms,omitempty" minimum:"0" maximum:"1" default:"0.1"`
}

// NewReading is one reading of it. At least one of the three figures is given.
type NewReading struct {
	Position     string   `json:"position" enum:"CH,FH,3H,6H,9H,12H"`
	Hours        float64  `json:"hours_after_winding" minimum:"0" maximum:"1000" doc:"0 at full wind"`
	Again        int      `json:"again,omitempty" minimum:"0" maximum:"3" doc:"1 and on for one taken again"`
	RateSPerDay  *float64 `json:"rate_s_per_day,omitempty"`
	AmplitudeDeg *float64 `json:"amplitude_deg,omitempty"`
	BeatErrorMs  *float64 `json:"beat_error_ms,omitempty"`
	RateU        float64  `json:"rate_u_s_per_day,omitempty" minimum:"0" doc:"standard uncertainty that the instrument states, without clock and resolution"`
	AmplitudeU   float64  `json:"amplitude_u_deg,omitempty" minimum:"0"`
	BeatErrorU   float64  `json:"beat_error_u_ms,omitempty" minimum:"0"`
}

type sendRunIn struct {
	NumberIn
	Key  string `header:"Idempotency-Key" required:"true" minLength:"8" maxLength:"200" doc:"one for each run, such as a UUID: the same key sent again is the same run, recorded once"`
	Body NewRun
}

type sendRunOut struct {
	Status int
	Body   Run
}

func (a *API) sendRuns() {
	a.readRuns()
	op := operation(http.MethodPost, "/dockets/{number}/runs", "send-run", "Records a run of readings", token.Readings, http.StatusNotFound,
		http.StatusConflict, http.StatusUnprocessableEntity)
	op.Description += " It is recorded in the name of the person for whom the token was made, and judged like any other. Sent again " +
		"under the same Idempotency-Key it is answered as before (200), and with other contents refused (422)."
	op.DefaultStatus = http.StatusCreated
	huma.Register(a.huma, op, a.sendRun)
	answered := *a.huma.OpenAPI().Paths["/dockets/{number}/runs"].Post.Responses["201"]
	answered.Description = "Recorded before, under this key"
	a.huma.OpenAPI().Paths["/dockets/{number}/runs"].Post.Responses["200"] = &answered
}

func (a *API) sendRun(ctx context.Context, in *sendRunIn) (*sendRunOut, error) {
	n, err := in.number()
	if err != nil {
		return nil, err
	}
	p := programOf(ctx)
	sent, err := sending(p.Token.ID, n, in)
	if err != nil {
		return nil, a.explain(ctx, err)
	}
	if out, err := a.sentBefore(ctx, n, sent); out != nil || err != nil {
		return out, err
	}
	if err := mayRecord(p.For, timing.Kind(in.Body.Kind)); err != nil {
		return nil, err
	}
	sh := in.Body.sheet()
	if why := in.Body.doubted(sh, p); why != nil {
		return nil, why
	}
	c := store.Change{Number: n, At: a.host.Now(), By: store.Actor{StaffID: p.For.ID, Name: p.For.Name, Role: p.For.Role}}
	id, err := a.store.RecordRun(ctx, c, store.RunEntry{Sheet: sh, Sent: &sent})
	var invalid *domain.InvalidError
	switch {
	case errors.Is(err, domain.ErrSentTwice):
		if out, err := a.sentBefore(ctx, n, sent); out != nil || err != nil {
			return out, err
		}
		return nil, huma.Error409Conflict("The same is being recorded. Send it again.")
	case errors.As(err, &invalid):
		return nil, in.Body.invalid(sh, invalid.Problems)
	case err != nil:
		return nil, a.explain(ctx, err)
	}
	return a.recorded(ctx, n, id, http.StatusCreated)
}

// sending is which sending a request is: of the token, under the key; its sum covers the docket and all that was sent.
func sending(tokenID int64, n docket.Number, in *sendRunIn) (store.RunSent, error) {
	body, err := json.Marshal(in.Body)
	if err != nil {
		return store.RunSent{}, fmt.Errorf("sum of a run: %w", err)
	}
	return store.RunSent{TokenID: tokenID, Key: sha256.Sum256([]byte(in.Key)), Sum: sha256.Sum256(append([]byte(n.String()+"\n"), body...))}, nil
}

// sentBefore is the answer to what was recorded before under the same key, nil where nothing was.
func (a *API) sentBefore(ctx context.Context, n docket.Number, sent store.RunSent) (*sendRunOut, error) {
	id, same, err := a.store.SentRun(ctx, sent)
	switch {
	case err != nil:
		return nil, a.explain(ctx, err)
	case id == 0:
		return nil, nil
	case !same:
		return nil, huma.Error422UnprocessableEntity("Another run was recorded under this Idempotency-Key: take a new one for each run.")
	}
	return a.recorded(ctx, n, id, http.StatusOK)
}

func (a *API) recorded(ctx context.Context, n docket.Number, id int64, status int) (*sendRunOut, error) {
	sheet, err := a.store.RegulationSheet(ctx, n)
	if err != nil {
		return nil, a.explain(ctx, err)
	}
	r, found := sheet.Run(id)
	if !found { // more runs were taken since than a sheet shows
		r.ID = id
	}
	return &sendRunOut{status, run(r)}, nil
}

// mayRecord is an error where the person for whom the token was made may not record such a run, or works here no longer.
func mayRecord(m staff.Member, k timing.Kind) error {
	if m.ID == 0 || m.Disabled || !staff.Can(m.Role, docket.RunPermission(k)) {
		return huma.Error403Forbidden("The person for whom this token was made may not record such a run. The owner can make another token.")
	}
	return nil
}

// sheet is the run as the record keeps it.
func (in NewRun) sheet() timing.Sheet {
	sh := timing.Sheet{Run: timing.Run{Kind: timing.Kind(in.Kind), Label: in.Note, CrownHour: timing.CrownAtThree}, Instrument: in.Instrument,
		ClockPPM: timing.UncalibratedClockPPM, TemperatureC: in.TemperatureC}
	if in.ClockWithinPPM != nil {
		sh.ClockPPM = *in.ClockWithinPPM
	}
	for _, t := range in.Touched {
		sh.Run.Touched = append(sh.Run.Touched, timing.Touch(t))
	}
	for _, g := range in.Readings {
		r := timing.Reading{Position: timing.Position(g.Position), HoursAfterWinding: g.Hours, Repeat: g.Again, Instrument: in.Instrument,
			TemperatureC: in.TemperatureC, RateSPerDay: sentFigure(g.RateSPerDay, in.Resolution.RateSPerDay, g.RateU),
			AmplitudeDeg: sentFigure(g.AmplitudeDeg, in.Resolution.AmplitudeDeg, g.AmplitudeU),
			BeatErrorMs:  sentFigure(g.BeatErrorMs, in.Resolution.BeatErrorMs, g.BeatErrorU)}
		sh.Run.Readings = append(sh.Run.Readings, r)
	}
	sh.States = sh.Run.States()
	return sh
}

func sentFigure(x *float64, step, u float64) *timing.Figure {
	if x == nil {
		return nil
	}
	return &timing.Figure{Value: *x, Step: step, StdUncertainty: u}
}

// doubted is an error that names what looks like a slip, unless somebody looked: then it is kept that it was confirmed.
func (in NewRun) doubted(sh timing.Sheet, p store.Program) error {
	doubts := sh.Doubts(timing.Sheet{})
	if in.Confirmed {
		sh.Confirm(doubts, p.For.Name+" ("+p.Token.Name+")")
		return nil
	}
	if len(doubts) == 0 {
		return nil
	}
	return in.problem("Figures look like slips. Look at them; if they are as read, send the run with confirmed.", sh, doubts)
}

func (in NewRun) invalid(sh timing.Sheet, problems map[string]string) error {
	return in.problem("The run can't be recorded as it is.", sh, problems)
}

// problem names by their places in what was sent what is wrong.
func (in NewRun) problem(words string, sh timing.Sheet, problems map[string]string) error {
	fields := make([]string, 0, len(problems))
	for field := range problems {
		fields = append(fields, field)
	}
	slices.Sort(fields)
	var details []error
	for _, field := range fields {
		details = append(details, &huma.ErrorDetail{Message: problems[field], Location: place(sh, field)})
	}
	return huma.Error422UnprocessableEntity(words, details...)
}

// place is where in what was sent a field of the form stands.
func place(sh timing.Sheet, field string) string {
	names := map[timing.Quantity]string{timing.Rate: "rate_s_per_day", timing.Amplitude: "amplitude_deg", timing.BeatError: "beat_error_ms"}
	for i, r := range sh.Run.Readings {
		for q, name := range names {
			if r.FieldName(q) == field {
				return fmt.Sprintf("body.readings[%d].%s", i, name)
			}
		}
		if field == "cell-"+timing.CellName(r.Position, r.HoursAfterWinding) {
			return fmt.Sprintf("body.readings[%d]", i)
		}
	}
	switch field {
	case "label":
		return "body.note"
	case "clock_ppm":
		return "body.clock_within_ppm"
	case "temperature":
		return "body.temperature_c"
	case "states":
		return "body.readings"
	}
	return "body." + strings.TrimPrefix(field, "body.")
}
