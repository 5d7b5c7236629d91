// What a page without script does by itself, and a swapped part does not.
(() => {
  const counting = () => document.getElementById("counting");
  let timer = 0, before = location.pathname;

  // The old answer stays; from half a second on it is said that a new one is being worked out.
  document.addEventListener("htmx:beforeRequest", () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      document.body.classList.add("counting");
      counting().textContent = counting().dataset.counting;
    }, 500);
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    clearTimeout(timer);
    document.body.classList.remove("counting");
    counting().textContent = event.detail.xhr.status ? "" : counting().dataset.stopped;
  });

  // A new screen is read from its top; on the same one the focus stays where it was.
  document.addEventListener("htmx:afterSettle", () => {
    if (location.pathname !== before) document.getElementById("main").focus({ preventScroll: true });
    before = location.pathname;
  });
})();
