// Package link is the customer's private link: how its secret part is made and checked, and how long it serves.
package link

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"errors"
	"strconv"
	"strings"
	"time"
)

// LifeDays is for how many days a link serves after it was made or last sent.
const LifeDays = 60

// macBytes is how much of the HMAC a token keeps: 128 bits, the least that RFC 2104 (section 5) lets SHA-256's be cut
// to.
const macBytes = 16

// encoding is base 32 (RFC 4648) in lower case without padding: letters and digits that survive being read aloud.
var encoding = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// Purpose is what a token is for, so that none serves for anything else.
type Purpose string

// The purposes.
const (
	Docket Purpose = "customer-link" // a private link to a docket
	NoMail Purpose = "no-mail"       // a customer who wants no mail
)

// Token is the secret part of the link with the given id. It panics unless id > 0.
func Token(secret []byte, id int64) string { return Sign(secret, Docket, id) }

// ID is the id of the link that a token names, as Read does.
func ID(secret []byte, token string) (id int64, ok bool) { return Read(secret, Docket, token) }

// Sign makes a token for an id. It is derived from the shop's link secret and kept nowhere: base32(id, HMAC-SHA256(secret,
// purpose "|" id)), the id as an unsigned varint, the HMAC cut to 128 bits. It panics unless id > 0.
func Sign(secret []byte, p Purpose, id int64) string {
	if id <= 0 {
		panic("link: the id of nothing")
	}
	mac := hmac.New(sha256.New, secret)
	mac.Write([]byte(string(p) + "|" + strconv.FormatInt(id, 10)))
	raw := binary.AppendUvarint(nil, uint64(id))
	return encoding.EncodeToString(append(raw, mac.Sum(nil)[:macBytes]...))
}

// Read is the id that a token of that purpose names. ok is false for a token that was not made with the secret for it;
// comparing takes as long wherever the two differ.
func Read(secret []byte, p Purpose, token string) (id int64, ok bool) {
	token = strings.ToLower(token)
	raw, err := encoding.DecodeString(token)
	if err != nil {
		return 0, false
	}
	n, size := binary.Uvarint(raw)
	if size <= 0 || n == 0 || n > 1<<62 {
		return 0, false
	}
	return int64(n), hmac.Equal([]byte(token), []byte(Sign(secret, p, int64(n))))
}

// Link is one private link to a docket.
type Link struct {
	ID        int64 // 0 for no link
	DocketID  int64
	MadeAt    time.Time // UTC
	ExpiresAt time.Time // UTC; the link serves before this moment
	EndedAt   time.Time // UTC; zero unless the shop ended it
}

// The ways a link stops serving.
var (
	ErrExpired = errors.New("this link has expired")
	ErrEnded   = errors.New("this link was ended by the shop")
)

// Check returns ErrEnded or ErrExpired when l no longer serves at the time now.
func (l Link) Check(now time.Time) error {
	switch {
	case !l.EndedAt.IsZero():
		return ErrEnded
	case !now.Before(l.ExpiresAt):
		return ErrExpired
	}
	return nil
}

// Serves reports whether l is a link that works at the time now.
func (l Link) Serves(now time.Time) bool { return l.ID != 0 && l.Check(now) == nil }

// Expiry is until when a link made or sent at the given time serves.
func Expiry(at time.Time) time.Time { return at.AddDate(0, 0, LifeDays) }
