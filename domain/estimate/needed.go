package estimate

import "ledgerwheel/domain/stock"

// NeededParts are the parts of the catalogue that approved lines name, in whole pieces, less those that the docket has noted
// already, by their ids. Lines that the customer left out need nothing.
func NeededParts(lines []Line, noted map[int64]int) []stock.PartLine {
	left := map[int64]int{}
	for id, pieces := range noted {
		left[id] = pieces
	}
	var list []stock.PartLine
	for _, l := range lines {
		if l.Kind != Part || l.PartID == 0 || l.Declined {
			continue
		}
		pieces := int((l.QuantityMilli + 999) / 1000)
		have := min(left[l.PartID], pieces)
		left[l.PartID] -= have
		if pieces > have {
			list = append(list, stock.PartLine{Description: l.Description, Quantity: pieces - have, State: stock.Needed, PartID: l.PartID})
		}
	}
	return list
}
