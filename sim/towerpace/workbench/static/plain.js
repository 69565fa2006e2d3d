const at = (id) => document.getElementById(id);
const tower = await (await fetch("/tower")).json();
at("title").textContent = tower.title;
const events = new EventSource("/events");
events.addEventListener("state", (e) => { at("state").textContent = JSON.parse(e.data).text; });
events.addEventListener("answer", (e) => {
  const answer = JSON.parse(e.data);
  at("headline").textContent = answer.headline;
  at("lines").replaceChildren(...answer.lines.map((line) => {
    const item = document.createElement("li");
    item.textContent = line;
    return item;
  }));
});
