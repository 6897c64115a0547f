package balance

// What the tests of this room look at from outside.

var BalanceTool = balanceTool

var FillBalance = fillBalance

var FillRegulating = fillRegulating

var RegulatingTool = regulatingTool

var TemperatureTool = temperatureTool

var VibratingTool = vibratingTool
