package main

import (
	"bytes"
	"strings"
	"testing"
)

// TestDoorFlagsAreRead: what can't be read is said before anything starts; an empty variable is none.
func TestDoorFlagsAreRead(t *testing.T) {
	for _, c := range []struct{ option, value, says string }{
		{"--trusted-proxy", "nearby", "no address"}, {"--trusted-proxy", "10.0.0.0/33", "no address"},
		{"--host", "shop.example:8443", "without port"}, {"--host", "https://shop.example", "neither a name"},
	} {
		var out, errs bytes.Buffer
		if code := run([]string{"serve", c.option, c.value, "--data", t.TempDir()}, nil, &out, &errs); code != 2 ||
			!strings.Contains(errs.String(), c.says) || !strings.Contains(errs.String(), c.option) {
			t.Errorf("%s %s: %d %s", c.option, c.value, code, &errs)
		}
	}
	list, err := parseProxies([]string{"127.0.0.1", "10.0.0.7/24", "::ffff:192.0.2.1", "2001:db8::/32"})
	if err != nil || len(list) != 4 || list[0].String() != "127.0.0.1/32" || list[1].String() != "10.0.0.0/24" ||
		list[2].String() != "192.0.2.1/32" || list[3].String() != "2001:db8::/32" {
		t.Errorf("%v (%v)", list, err)
	}
	t.Setenv("LEDGERWHEEL_HOSTS", "")
	t.Setenv("LEDGERWHEEL_TRUSTED_PROXIES", "")
	var c commands
	parser, err := newParser(&c, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parser.Parse([]string{"serve"}); err != nil {
		t.Errorf("with empty variables: %v", err)
	}
}
