// Small helps for pages that work without them. Each module looks for its own data- attribute and does nothing
// when there is none; what few pages have is fetched only for those.
import { startTheme } from "./theme.js";
import { startLeave } from "./leave.js";
import { startPrint } from "./print.js";

startTheme(document);
startLeave(document);
startPrint(document);
if (document.querySelector("[data-grid]")) import("./grid.js").then((m) => m.startGrids(document));
if (document.querySelector("[data-outline]")) import("./outline.js").then((m) => m.startOutlines(document));
if (document.querySelector("[data-suggest-url]")) import("./suggest.js").then((m) => m.startSuggest(document));

// On narrow screens tabs and rail scroll: the sheet one is on should be in sight.
document.querySelector(".tabs [aria-current], .rail [aria-current=\"page\"]")?.scrollIntoView({ block: "nearest", inline: "center" });
