package api_test

import (
	"context"
	"net/http"
	"os"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/oapi-codegen/oapi-codegen/v2/pkg/codegen"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/token"
	"ledgerwheel/web/api"
	"ledgerwheel/web/api/client"
	"ledgerwheel/web/webtest"
)

const generated = "client/client.gen.go"

// The client that stands in the tree is what a generator that is not ours makes of the description as it is now
// (LEDGERWHEEL_WRITE_CLIENT=1 writes it).
func TestTheClientIsCurrent(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	// The generator reads OpenAPI 3.0; the library that describes the API writes that too.
	described := s.Stranger().Get(api.Path + "/openapi-3.0.json").Want(http.StatusOK).Body
	spec, err := openapi3.NewLoader().LoadFromData([]byte(described))
	if err != nil {
		t.Fatal(err)
	}
	code, err := codegen.Generate(spec, codegen.Configuration{PackageName: "client",
		Generate: codegen.GenerateOptions{Client: true, Models: true}, OutputOptions: codegen.OutputOptions{SkipPrune: true}})
	if err != nil {
		t.Fatal(err)
	}
	if os.Getenv("LEDGERWHEEL_WRITE_CLIENT") != "" {
		if err := os.WriteFile(generated, []byte(code), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(generated)
	if err != nil {
		t.Fatal(err)
	}
	// The head names the generator's version, which a test that is built as it is can't know.
	if body(string(kept)) != body(code) {
		t.Error("the client is not what the description now gives: LEDGERWHEEL_WRITE_CLIENT=1 go test ./web/api -run TestTheClientIsCurrent")
	}
}

func body(code string) string { return code[strings.Index(code, "\npackage "):] }

// The generated client reads every docket and sends a run.
func TestAGeneratedClientReads(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageService)
	secret := grant(t, r.Site, token.Dockets, token.Readings, token.Prices)
	c, err := client.NewClientWithResponses(r.URL+api.Path, client.WithRequestEditorFn(func(_ context.Context, req *http.Request) error {
		req.Header.Set("Authorization", "Bearer "+secret)
		return nil
	}))
	if err != nil {
		t.Fatal(err)
	}
	list, err := c.ListDocketsWithResponse(t.Context(), &client.ListDocketsParams{})
	if err != nil || list.JSON200 == nil || len(list.JSON200.Items) != 1 || list.JSON200.Items[0].Number != r.Number.String() {
		t.Fatalf("dockets: %v %s", err, list.Body)
	}
	u := 0.2
	run := client.NewRun{Kind: "after service", Instrument: "Bench timer 2"}
	for i, at := range []client.NewReadingPosition{"CH", "FH", "3H", "6H", "9H", "12H"} {
		rate, amplitude := 2+float64(i), 280.0
		run.Readings = append(run.Readings, client.NewReading{Position: at, RateSPerDay: &rate, AmplitudeDeg: &amplitude, RateUSPerDay: &u})
	}
	for _, want := range []int{http.StatusCreated, http.StatusOK} {
		sent, err := c.SendRunWithResponse(t.Context(), r.Number.String(), &client.SendRunParams{IdempotencyKey: "by a generated client"}, run)
		if err != nil || sent.StatusCode() != want {
			t.Fatalf("run: %v %s", err, sent.Body)
		}
	}
	runs, err := c.ListRunsWithResponse(t.Context(), r.Number.String())
	if err != nil || runs.JSON200 == nil || len(runs.JSON200.Items) != 1 || runs.JSON200.Items[0].Readings[1].RateSPerDay.Value != 3 {
		t.Fatalf("runs: %v %s", err, runs.Body)
	}
}
