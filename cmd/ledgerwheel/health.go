package main

import (
	"context"
	"fmt"
	"net/http"
	"time"
)

type healthCmd struct {
	URL string `arg:"" optional:"" help:"Address to ask." default:"http://127.0.0.1:8080/healthz"`
}

// Run asks once: no error means that the program answers and reaches its records.
func (c *healthCmd) Run(e *env) error {
	ctx, cancel := context.WithTimeout(e.ctx, 5*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, c.URL, nil)
	if err != nil {
		return err
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK {
		return fmt.Errorf("%s answers %s", c.URL, res.Status)
	}
	fmt.Fprintln(e.stdout, "ok")
	return nil
}
