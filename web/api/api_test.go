package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/pb33f/libopenapi"
	validator "github.com/pb33f/libopenapi-validator"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/api"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// program asks as another program does, and holds every request and answer to the published description, read by a library that
// is not the one that wrote it.
type program struct {
	t      testing.TB
	url    string
	secret string
	by     validator.Validator
}

func describe(t testing.TB, s *webtest.Site) (validator.Validator, []byte) {
	t.Helper()
	answer := s.Stranger().Get(api.Path + "/openapi.json").Want(http.StatusOK)
	doc, err := libopenapi.NewDocument([]byte(answer.Body))
	if err != nil {
		t.Fatal(err)
	}
	v, errs := validator.NewValidator(doc)
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	return v, []byte(answer.Body)
}

func (p *program) ask(method, path string, body any, headers ...string) (int, []byte, http.Header) {
	p.t.Helper()
	var sent []byte
	if body != nil {
		var err error
		if sent, err = json.Marshal(body); err != nil {
			p.t.Fatal(err)
		}
	}
	// The description names the public address, the test's server has another.
	described, err := http.NewRequest(method, "http://ledger.example"+api.Path+path, bytes.NewReader(sent))
	if err != nil {
		p.t.Fatal(err)
	}
	req, err := http.NewRequest(method, p.url+api.Path+path, bytes.NewReader(sent))
	if err != nil {
		p.t.Fatal(err)
	}
	for _, r := range []*http.Request{described, req} {
		if body != nil {
			r.Header.Set("Content-Type", "application/json")
		}
		if p.secret != "" {
			r.Header.Set("Authorization", "Bearer "+p.secret)
		}
		for i := 0; i < len(headers); i += 2 {
			r.Header.Set(headers[i], headers[i+1])
		}
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		p.t.Fatal(err)
	}
	defer resp.Body.Close()
	got, err := io.ReadAll(resp.Body)
	if err != nil {
		p.t.Fatal(err)
	}
	if p.by != nil {
		resp.Body = io.NopCloser(bytes.NewReader(got))
		if ok, faults := p.by.ValidateHttpResponse(described, resp); !ok {
			for _, f := range faults {
				p.t.Errorf("%s %s: the answer (%d) is not as described: %s: %s %v\n%s", method, path, resp.StatusCode, f.Message, f.Reason, f.SchemaValidationErrors, got)
			}
		}
		if resp.StatusCode < 300 {
			if ok, faults := p.by.ValidateHttpRequest(described); !ok {
				p.t.Errorf("%s %s: what was answered is not as described: %v", method, path, faults)
			}
		}
	}
	return resp.StatusCode, got, resp.Header
}

// get asks for a page and fails unless it is there.
func get[T any](p *program, path string) T {
	p.t.Helper()
	status, body, _ := p.ask(http.MethodGet, path, nil)
	if status != http.StatusOK {
		p.t.Fatalf("GET %s: %d %s", path, status, body)
	}
	var out T
	if err := json.Unmarshal(body, &out); err != nil {
		p.t.Fatalf("GET %s: %v", path, err)
	}
	return out
}

func grant(t testing.TB, s *webtest.Site, scopes ...token.Scope) string {
	t.Helper()
	made := token.Token{Name: "for a test", Scopes: scopes, MadeAt: s.Clock()}
	if slices.Contains(scopes, token.Readings) {
		made.ActsFor = s.Watchmaker.ID
	}
	secret, err := s.Store.MakeToken(t.Context(), made, s.Actor(s.Owner))
	if err != nil {
		t.Fatal(err)
	}
	return secret
}

type docketPage struct {
	Items []api.Docket
	Next  string
}

// The description is valid OpenAPI 3.1, and names a token for everything.
func TestTheDescriptionIsValid(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	v, body := describe(t, s)
	if ok, faults := v.ValidateDocument(); !ok {
		for _, f := range faults {
			t.Errorf("%s: %s %v", f.Message, f.Reason, f.SchemaValidationErrors)
		}
	}
	var doc struct {
		OpenAPI string
		Paths   map[string]map[string]struct {
			OperationID string
			Security    []map[string][]string
		}
	}
	if err := json.Unmarshal(body, &doc); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(doc.OpenAPI, "3.1.") {
		t.Errorf("the description is OpenAPI %s", doc.OpenAPI)
	}
	n := 0
	for path, ops := range doc.Paths {
		for method, op := range ops {
			n++
			if len(op.Security) != 1 || len(op.Security[0]) != 1 {
				t.Errorf("%s %s asks for %v", method, path, op.Security)
			}
		}
	}
	if n < 7 {
		t.Errorf("%d operations are described", n)
	}
}

// Every operation is refused without a token, with one that has ended or run out, and with every scope but its own.
func TestNoStrangerReads(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageService)
	s, number := r.Site, r.Number.String()
	v, _ := describe(t, s)
	ended := grant(t, s, token.Scopes()[:5]...)
	if err := s.Store.EndToken(t.Context(), 1, s.Actor(s.Owner), s.Clock()); err != nil {
		t.Fatal(err)
	}
	short, err := s.Store.MakeToken(t.Context(), token.Token{Name: "short", Scopes: token.Scopes()[:4], MadeAt: s.Clock().Add(-time.Hour),
		ExpiresAt: s.Clock().Add(-time.Minute)}, s.Actor(s.Owner))
	if err != nil {
		t.Fatal(err)
	}
	of := map[token.Scope]string{}
	for _, scope := range token.Scopes() {
		of[scope] = grant(t, s, scope)
	}
	for _, op := range []struct {
		method, path string
		needs        token.Scope
	}{
		{http.MethodGet, "/dockets", token.Dockets}, {http.MethodGet, "/dockets/" + number, token.Dockets},
		{http.MethodGet, "/dockets/" + number + "/runs", token.Dockets}, {http.MethodGet, "/customers", token.Customers},
		{http.MethodGet, "/prices", token.Prices}, {http.MethodGet, "/parts", token.Stock}, {http.MethodGet, "/shop", ""},
		{http.MethodPost, "/dockets/" + number + "/runs", token.Readings},
	} {
		var body any
		headers := []string{"Idempotency-Key", "a-key-for-" + op.path}
		if op.method == http.MethodPost {
			body = sixPositions()
		} else {
			headers = nil
		}
		for name, secret := range map[string]string{"none": "", "ended": ended, "run out": short, "made up": token.NewSecret(), "a password": "loupe tweezers tide"} {
			status, _, h := (&program{t, s.URL, secret, v}).ask(op.method, op.path, body, headers...)
			if status != http.StatusUnauthorized && status != http.StatusTooManyRequests || status == http.StatusUnauthorized && !strings.HasPrefix(h.Get("WWW-Authenticate"), "Bearer ") {
				t.Errorf("%s %s with token %s: %d", op.method, op.path, name, status)
			}
		}
		for scope, secret := range of {
			want := http.StatusForbidden
			if scope == op.needs || op.needs == "" {
				want = http.StatusOK
				if op.method == http.MethodPost {
					want = http.StatusCreated
				}
			}
			if status, body, _ := (&program{t, s.URL, secret, v}).ask(op.method, op.path, body, headers...); status != want {
				t.Errorf("%s %s with a token for %s: %d, want %d: %s", op.method, op.path, scope, status, want, body)
			}
		}
	}
}

// Every docket is read once, by whatever pages; a customer is named only to whoever may read customers.
func TestDocketsAreReadPageByPage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	var want []string
	for i := range 7 {
		want = append(want, s.TakeIn("name", fmt.Sprintf("%s Pilot", []string{"Ann", "Ben", "Cleo", "Dov", "Edda", "Finn", "Gwen"}[i]),
			"phone", fmt.Sprintf("01632 96012%d", i), "email", fmt.Sprintf("pilot%d@example.org", i), "serial", fmt.Sprintf("S-%d77", i)))
	}
	v, _ := describe(t, s)
	p := &program{t, s.URL, grant(t, s, token.Dockets), v}
	for _, limit := range []int{1, 2, 3, 7, 200} {
		var got []string
		path := fmt.Sprintf("/dockets?limit=%d", limit)
		for next := ""; ; {
			page := get[docketPage](p, path+next)
			for _, d := range page.Items {
				got = append(got, d.Number)
				if d.CustomerID != nil {
					t.Errorf("%s names its customer", d.Number)
				}
			}
			if page.Next == "" {
				break
			}
			next = "&cursor=" + page.Next
		}
		if !slices.Equal(got, want) {
			t.Errorf("by %d: %v, want %v", limit, got, want)
		}
	}
	both := &program{t, s.URL, grant(t, s, token.Dockets, token.Customers), v}
	if d := get[api.Docket](both, "/dockets/"+want[2]); d.CustomerID == nil || d.Stage != "intake" || !d.Open || d.Page != "http://ledger.example/dockets/"+want[2] {
		t.Errorf("docket %+v", d)
	}
	for path, status := range map[string]int{"/dockets?cursor=xyz": 400, "/dockets?limit=0": 422, "/dockets?limit=201": 422, "/dockets?stage=lost": 422,
		"/dockets?order=desc": 422, "/dockets/26-00001-X": 404, "/dockets/none": 404, "/dockets/26-09999-" + "5": 404, "/nothing": 404} {
		if got, body, _ := (&program{t, s.URL, p.secret, nil}).ask(http.MethodGet, path, nil); got != status || !strings.Contains(string(body), `"detail"`) {
			t.Errorf("%s: %d, want %d: %s", path, got, status, body)
		}
	}
	customers := get[struct {
		Items []api.Customer
		Next  string
	}](both, "/customers?limit=5")
	if len(customers.Items) != 5 || customers.Next == "" {
		t.Errorf("%d customers on a page, next %q", len(customers.Items), customers.Next)
	}
}

func ptr(x float64) *float64 { return &x }

func sixPositions() api.NewRun {
	run := api.NewRun{Kind: "after service", Instrument: "Bench timer 2", ClockWithinPPM: ptr(0.5), TemperatureC: ptr(22.5),
		Resolution: api.Resolution{RateSPerDay: 0.1, AmplitudeDeg: 1, BeatErrorMs: 0.1}}
	for i, at := range []string{"CH", "FH", "3H", "6H", "9H", "12H"} {
		run.Readings = append(run.Readings, api.NewReading{Position: at, RateSPerDay: ptr(3.5 + float64(i)/10), AmplitudeDeg: ptr(285 - 4*float64(i)),
			BeatErrorMs: ptr(0.2), RateU: 0.2})
	}
	return run
}

// A run is recorded once however often and however simultaneously it is sent, in the name of the person of the token, and read
// back as it was sent.
func TestARunIsSentOnce(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageService)
	s, number := r.Site, r.Number.String()
	v, _ := describe(t, s)
	p := &program{t, s.URL, grant(t, s, token.Dockets, token.Readings), v}
	path := "/dockets/" + number + "/runs"
	const times = 8
	var wg sync.WaitGroup
	statuses, ids := make([]int, times), make([]int64, times)
	for i := range times {
		wg.Go(func() {
			status, body, _ := (&program{t, s.URL, p.secret, nil}).ask(http.MethodPost, path, sixPositions(), "Idempotency-Key", "one-and-the-same")
			var run api.Run
			if err := json.Unmarshal(body, &run); err != nil {
				t.Errorf("%s: %v", body, err)
			}
			statuses[i], ids[i] = status, run.ID
		})
	}
	wg.Wait()
	slices.Sort(statuses)
	if statuses[times-1] != http.StatusCreated || statuses[times-2] != http.StatusOK || slices.Min(ids) != slices.Max(ids) || ids[0] == 0 {
		t.Errorf("answers %v, runs %v", statuses, ids)
	}
	other := sixPositions()
	other.Readings[0].RateSPerDay = ptr(9)
	if status, body, _ := p.ask(http.MethodPost, path, other, "Idempotency-Key", "one-and-the-same"); status != http.StatusUnprocessableEntity {
		t.Errorf("another run under the same key: %d %s", status, body)
	}
	if status, body, _ := (&program{t, s.URL, p.secret, nil}).ask(http.MethodPost, path, other); status != http.StatusUnprocessableEntity {
		t.Errorf("without a key: %d %s", status, body)
	}
	if status, body, _ := p.ask(http.MethodPost, path, other, "Idempotency-Key", "another one"); status != http.StatusCreated {
		t.Errorf("another run: %d %s", status, body)
	}
	runs := get[struct{ Items []api.Run }](p, path).Items
	if len(runs) != 2 {
		t.Fatalf("%d runs, want 2", len(runs))
	}
	got, sent := runs[0], sixPositions()
	if got.TakenBy != s.Watchmaker.Name || got.Instrument != sent.Instrument || *got.TemperatureC != 22.5 || len(got.Readings) != 6 {
		t.Errorf("run %+v", got)
	}
	for i, g := range got.Readings {
		if g.Position != sent.Readings[i].Position || g.RateSPerDay.Value != *sent.Readings[i].RateSPerDay || g.AmplitudeDeg.Value != *sent.Readings[i].AmplitudeDeg {
			t.Errorf("reading %+v, sent %+v", g, sent.Readings[i])
		}
		// Combined by JCGM 100, 5.1.2: stated 0.2, step 0.1 and clock ±0.5 ppm (0.0432 s/d) as rectangles.
		want := 0.2 * 0.2
		for _, half := range []float64{0.05, 0.0432} {
			want += half * half / 3
		}
		if d := g.RateSPerDay.U*g.RateSPerDay.U - want; d > 1e-6 || d < -1e-6 {
			t.Errorf("uncertainty of the rate %.6f, want %.6f squared", g.RateSPerDay.U, want)
		}
	}
}

// What can't be recorded is said by its place in what was sent, and nothing is recorded.
func TestABadRunIsRefused(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageService)
	s, number := r.Site, r.Number.String()
	v, _ := describe(t, s)
	p := &program{t, s.URL, grant(t, s, token.Readings, token.Dockets), v}
	for name, c := range map[string]struct {
		change func(*api.NewRun)
		place  string
	}{
		"twice":        {func(r *api.NewRun) { r.Readings[1].Position = "CH" }, "body.readings[0]"},
		"too fast":     {func(r *api.NewRun) { r.Readings[2].RateSPerDay = ptr(90000) }, "body.readings[2].rate_s_per_day"},
		"nothing read": {func(r *api.NewRun) { r.Readings[3] = api.NewReading{Position: "6H"} }, "body.readings[3].rate_s_per_day"},
		"too early":    {func(r *api.NewRun) { r.Kind = "final" }, "body.kind"},
		"a slip":       {func(r *api.NewRun) { r.Readings[4].RateSPerDay, r.Readings[4].RateU = ptr(380), 0 }, "body.readings[4].rate_s_per_day"},
		"no position":  {func(r *api.NewRun) { r.Readings[5].Position = "5H" }, "body.readings[5].position"},
		"no readings":  {func(r *api.NewRun) { r.Readings = nil }, "body.readings"},
	} {
		run := sixPositions()
		c.change(&run)
		status, body, _ := p.ask(http.MethodPost, "/dockets/"+number+"/runs", run, "Idempotency-Key", "bad: "+name)
		var problem struct {
			Errors []struct{ Location, Message string }
		}
		if err := json.Unmarshal(body, &problem); err != nil || status != http.StatusUnprocessableEntity || len(problem.Errors) == 0 || problem.Errors[0].Location != c.place {
			t.Errorf("%s: %d %s", name, status, body)
		}
	}
	if runs := get[struct{ Items []api.Run }](p, "/dockets/"+number+"/runs").Items; len(runs) != 0 {
		t.Errorf("%d runs recorded", len(runs))
	}
	slip := sixPositions()
	slip.Readings[4].RateSPerDay, slip.Readings[4].RateU, slip.Confirmed = ptr(380), 0, true
	if status, body, _ := p.ask(http.MethodPost, "/dockets/"+number+"/runs", slip, "Idempotency-Key", "confirmed"); status != http.StatusCreated {
		t.Errorf("a confirmed slip: %d %s", status, body)
	}
	if err := s.Store.SetDisabled(t.Context(), s.Watchmaker.ID, true, s.Actor(s.Owner), s.Clock()); err != nil {
		t.Fatal(err)
	}
	if status, body, _ := p.ask(http.MethodPost, "/dockets/"+number+"/runs", sixPositions(), "Idempotency-Key", "after they left"); status != http.StatusForbidden {
		t.Errorf("in the name of somebody who left: %d %s", status, body)
	}
}

// A page of the API takes no more round trips than one of the shop's own.
func TestAPITakesFewRoundTrips(t *testing.T) {
	t.Parallel()
	var _ api.Store = (*store.Store)(nil)
	s := webtest.NewSite(t)
	number := s.TakeIn()
	secret := grant(t, s, token.Dockets, token.Customers, token.Prices, token.Stock)
	for _, path := range []string{"/dockets", "/dockets/" + number, "/dockets/" + number + "/runs", "/customers", "/prices", "/parts", "/shop"} {
		ctx, counter := storetest.CountRoundTrips(t.Context())
		for range 2 {
			req, _ := http.NewRequestWithContext(ctx, http.MethodGet, api.Path+path, nil)
			req.Host = "ledger.example"
			req.Header.Set("Authorization", "Bearer "+secret)
			w := httptest.NewRecorder()
			s.Srv.Handler().ServeHTTP(w, req)
			if w.Code != http.StatusOK {
				t.Fatalf("%s: %d %s", path, w.Code, w.Body)
			}
		}
		if n := counter.Trips(); n > 2*2+1 { // the first also notes that the token is in use
			t.Errorf("%s: %d round trips for two answers", path, n)
		}
	}
}
