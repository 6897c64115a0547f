package view

// ErrorText is what an error page says: what is wrong and what to do, never the error's own text.
type ErrorText struct {
	Title, Text string
	RequestID   string // also in the log
}
