// Contract: form[data-place] is a form that asks where a shop is. The page is asked for once more with what the browser
// says of its time zone and language; the program makes country and currency of it, and the reader corrects them.
const form = document.querySelector("form[data-place]");
const here = new URL(location.href);
if (form && !here.searchParams.has("time_zone")) {
  here.searchParams.set("time_zone", Intl.DateTimeFormat().resolvedOptions().timeZone || "");
  here.searchParams.set("language", navigator.language || "");
  location.replace(here);
}
