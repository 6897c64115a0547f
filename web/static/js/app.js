// Small helps for pages that work without them. Each module looks for its own data- attribute and does nothing
// when there is none.
import { startTheme } from "./theme.js";
import { startGrids } from "./grid.js";
import { startOutlines } from "./outline.js";
import { startSuggest } from "./suggest.js";
import { startLeave } from "./leave.js";
import { startPrint } from "./print.js";

startTheme(document);
startGrids(document);
startOutlines(document);
startSuggest(document);
startLeave(document);
startPrint(document);

// On narrow screens the tabs scroll: the sheet one is on should be in sight.
document.querySelector(".tabs [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
