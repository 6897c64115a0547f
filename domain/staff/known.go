package staff

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"strconv"
	"strings"
	"time"
)

// DeviceKnownFor is how long a device is known after somebody signed in on it.
const DeviceKnownFor = 400 * 24 * time.Hour

// DeviceToken says that the person signed in at the moment madeAt on the device of this name, which has no dot in it. It
// lets in nobody; guesses from elsewhere are only not counted against who shows it. It is PERSON.MADE.NAME.MAC, MADE in
// seconds since 1970 and MAC the HMAC-SHA256 (RFC 2104) of "known-device|" and all before it, in base64 for addresses
// (RFC 4648, section 5).
func DeviceToken(secret []byte, staffID int64, name string, madeAt time.Time) string {
	said := strings.Join([]string{strconv.FormatInt(staffID, 10), strconv.FormatInt(madeAt.Unix(), 10), name}, ".")
	mac := hmac.New(sha256.New, secret)
	mac.Write([]byte("known-device|" + said))
	return said + "." + base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// KnownDevice is the name of the device that a token makes known for the person. ok is false for another's token, one that
// is too old or one that was not made with the secret.
func KnownDevice(secret []byte, token string, staffID int64, now time.Time) (name string, ok bool) {
	parts := strings.Split(token, ".")
	if len(parts) != 4 || len(secret) == 0 {
		return "", false
	}
	seconds, err := strconv.ParseInt(parts[1], 10, 64)
	madeAt := time.Unix(seconds, 0)
	if err != nil || now.Sub(madeAt) >= DeviceKnownFor ||
		!hmac.Equal([]byte(token), []byte(DeviceToken(secret, staffID, parts[2], madeAt))) {
		return "", false
	}
	return parts[2], true
}
