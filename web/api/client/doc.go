// Package client is the API's client as a generator makes it of the published description: for tests, and for programs in Go that
// may copy it. It is not written by hand (see TestTheClientIsCurrent).
package client
