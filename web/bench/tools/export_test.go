package tools

// AllTools are the tools in the order of the list.
var AllTools = allTools
