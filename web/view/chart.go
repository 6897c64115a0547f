package view

import "github.com/a-h/templ"

// ChartView is a drawing and what is said above it.
type ChartView struct {
	Caption, TestID string
	Drawing         templ.Component
}
