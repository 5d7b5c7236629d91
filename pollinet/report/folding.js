// Without this all sections are open: on a telephone they are folded, on paper never.
const folds = document.querySelectorAll("details");
if (matchMedia("screen and (max-width: 40rem)").matches) folds.forEach(fold => { fold.open = false; });
addEventListener("beforeprint", () => folds.forEach(fold => { fold.open = true; }));
