package view

import "github.com/a-h/templ"

// ChartView is a drawing and what is said above it.
type ChartView struct {
	Caption, TestID string
	Drawing         templ.Component
	Wide            templ.Component // the same drawn for a wide screen; nil where it is not drawn twice
}
