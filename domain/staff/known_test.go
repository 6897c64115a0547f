package staff_test

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/staff"
)

func TestKnownDevice(t *testing.T) {
	t.Parallel()
	secret, made := []byte("of one shop"), time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)
	token := staff.DeviceToken(secret, 7, "ABC", made)
	mac := hmac.New(sha256.New, secret) // as the token's form is stated
	mac.Write([]byte("known-device|7.1795512600.ABC"))
	if want := "7.1795512600.ABC." + base64.RawURLEncoding.EncodeToString(mac.Sum(nil)); token != want {
		t.Errorf("the token is %s, want %s", token, want)
	}
	if name, ok := staff.KnownDevice(secret, token, 7, made.Add(staff.DeviceKnownFor-1)); !ok || name != "ABC" {
		t.Errorf("known as %q, %v", name, ok)
	}
	for name, c := range map[string]struct {
		secret []byte
		token  string
		id     int64
		at     time.Time
	}{
		"another's":        {secret, token, 8, made},
		"too old":          {secret, token, 7, made.Add(staff.DeviceKnownFor)},
		"another shop's":   {[]byte("of another"), token, 7, made},
		"no secret":        {nil, staff.DeviceToken(nil, 7, "ABC", made), 7, made},
		"made younger":     {secret, strings.Replace(token, ".1795512600.", ".1795512601.", 1), 7, made},
		"named otherwise":  {secret, strings.Replace(token, ".ABC.", ".ABD.", 1), 7, made},
		"without the mac":  {secret, "7.1795512600.ABC", 7, made},
		"an empty mac":     {secret, "7.1795512600.ABC.", 7, made},
		"a year of no use": {secret, "7.99999999999999999999.ABC.x", 7, made},
		"nothing":          {secret, "", 7, made},
	} {
		if got, ok := staff.KnownDevice(c.secret, c.token, c.id, c.at); ok {
			t.Errorf("%s: known as %q", name, got)
		}
	}
}
