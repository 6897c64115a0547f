// Package chart draws the shop's charts as SVG: what a watchmaker reads off a run, on ruled paper.
//
// A chart is a value; Render writes it (and makes it a templ component), SVG returns it as text. Drawings carry a
// title and a description with all their figures, use classes only (static/css/chart.css gives them ink), and are
// laid out in user units 360 wide, so that they can be read in print and on a screen 320 pixels wide.
// Series are told apart by the shape of their marks, not by colour alone.
package chart
