// One bundle for the page of one room and for that of two side by side: which it is, the document says.
if (document.body.classList.contains("compare")) import("./compare.js");
else import("./page.js");
