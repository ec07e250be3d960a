// Sends name and password as JSON, and says in words why they were not taken.
document.querySelector("form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const said = form.querySelector(".why-not");
  const answer = await fetch(form.action, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(Object.fromEntries(new FormData(form))),
  }).catch(() => null);
  if (answer?.status === 204) {
    location.assign("/");
    return;
  }
  const body = await answer?.json().catch(() => null);
  const problem = body?.problem;
  said.textContent = problem
    ? `${problem.what} Try: ${problem.tries.join("; ")}.`
    : "The workroom does not answer.";
});
