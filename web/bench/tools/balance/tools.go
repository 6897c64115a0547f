// Package balance is the bench tools of balance and hairspring; package toolset has those of the rest of the movement.
package balance

import "ledgerwheel/web/bench/tools/toolset"

// Tools are the tools in the order of the list.
func Tools() []toolset.Tool {
	return []toolset.Tool{balanceTool(), regulatingTool(), vibratingTool(), temperatureTool()}
}
