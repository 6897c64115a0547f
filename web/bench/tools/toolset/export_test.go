package toolset

// What the tests of this room look at from outside.

var BalanceTool = balanceTool

var CountingTool = countingTool

var FillBalance = fillBalance

var FillMissing = fillMissing

var FillRegulating = fillRegulating

var JewelFitTool = jewelFitTool

var MainspringTool = mainspringTool

var MissingTool = missingTool

var MotionWorkTool = motionWorkTool

var OilTool = oilTool

var PowerReserveTool = powerReserveTool

var RegulatingTool = regulatingTool

var SolveMissing = solveMissing

var TemperatureTool = temperatureTool

var TrainTool = trainTool

var VibratingTool = vibratingTool
