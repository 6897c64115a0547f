package store_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/pricelist"
)

// Of several who add a job of one code at once, one does; and whoever changes an older version is told so.
func TestOneCodeIsGivenOnce(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	j := pricelist.Job{Code: "FS", Name: "Full service", Kind: estimate.Labour,
		Prices: []pricelist.Price{{From: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), Minor: 18500, Currency: "EUR", IncludesTax: true, TaxBasisPoints: 2000}},
		Parts:  pricelist.Typed("Mainspring\ncrown?")}
	var wait sync.WaitGroup
	answers := make([]error, 6)
	for i := range answers {
		wait.Go(func() {
			one := j
			one.Name = fmt.Sprintf("Full service %d", i)
			_, answers[i] = c.SaveJob(t.Context(), one, 0, c.clerk, c.at)
		})
	}
	wait.Wait()
	kept := 0
	for _, err := range answers {
		var invalid *domain.InvalidError
		switch {
		case err == nil:
			kept++
		case !errors.As(err, &invalid) || invalid.Problems["code"] == "":
			t.Errorf("refused by %v", err)
		}
	}
	list, err := c.PriceList(t.Context())
	if err != nil || kept != 1 || len(list) != 1 || len(list[0].Prices) != 1 || len(list[0].Parts) != 2 || !list[0].Parts[1].Optional {
		t.Fatalf("%d kept, listed %+v, %v", kept, list, err)
	}
	was := list[0]
	was.Name = "Full service, manual"
	if _, err := c.SaveJob(t.Context(), was.Job, was.Version, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if _, err := c.SaveJob(t.Context(), was.Job, was.Version, c.clerk, c.at); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("a change of an older version: %v", err)
	}
	if err := c.EndJob(t.Context(), was.ID, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if err := c.EndJob(t.Context(), was.ID, c.clerk, c.at); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("ended twice: %v", err)
	}
	if _, err := c.SaveJob(t.Context(), j, 0, c.clerk, c.at); err != nil {
		t.Errorf("the code of one that is offered no longer: %v", err)
	}
}
