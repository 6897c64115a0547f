package toolset

// What the tests of this room look at from outside.

var CountingTool = countingTool

var DailyRateTool = dailyRateTool

var EscapementTool = escapementTool

var FillMissing = fillMissing

var JewelFitTool = jewelFitTool

var MainspringTool = mainspringTool

var MissingTool = missingTool

var MotionWorkTool = motionWorkTool

var OilTool = oilTool

var PowerReserveTool = powerReserveTool

var SolveMissing = solveMissing

var TrainTool = trainTool
