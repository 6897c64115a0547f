// What the pages of strangers and customers need too; all that they load.
import { startTheme } from "./theme.js";
import { startLeave } from "./leave.js";
import { startPrint } from "./print.js";

startTheme(document);
startLeave(document);
startPrint(document);
