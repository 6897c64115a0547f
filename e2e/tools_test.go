package e2e

import (
	"encoding/json"
	"io"
	"net/http"
	"testing"
)

// quoted writes a text as JavaScript does.
func quoted(text string) string {
	b, _ := json.Marshal(text) // strings always marshal
	return string(b)
}

// fetch gets an address and reads the answer whole.
func fetch(t *testing.T, c *http.Client, address string) (*http.Response, []byte) {
	t.Helper()
	res, err := c.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatalf("%s: %v", address, err)
	}
	return res, body
}
