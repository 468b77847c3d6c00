// What the page does: it lays out the boat, keeps what is changed, and asks what becomes of it.
import { Answer } from "./answer.js";
import { Asks, Broken, Mistaken, Superseded } from "./asks.js";
import { Boat } from "./boat.js";
import { Card } from "./card.js";
import { Changed } from "./changed.js";
import { Changes } from "./changes.js";
import { takeKey } from "./key.js";
import { Notices } from "./notices.js";
import { Pace } from "./pace.js";
import { say } from "./said.js";
import { Slow } from "./slow.js";
import { keepAlive } from "./alive.js";

document.getElementById("too-old").remove();
const asks = new Asks(takeKey());
const notices = new Notices();
const changes = new Changes();
const answer = new Answer();
const slow = new Slow(asks, notices);
const boat = new Boat(changes);
const pace = new Pace(work);
let inFiles = new Set();
const changed = new Changed({ asks, changes, notices, again: open, boat });
new Card({ asks, changes, notices, card: changed.card });

changes.watch((how) => {
  pace.begin(how); // first, so that the server works while the page does
  boat.show();
  changed.show();
});

// One answer. Of those that come late nothing is shown; of those that cannot be, why.
async function work(number) {
  const asked = changes.list();
  answer.working();
  slow.stop();
  let found;
  try {
    found = await asks.ask("answer", { changes: asked, number });
  } catch (trouble) {
    if (trouble instanceof Superseded || !pace.isNewest(number)) return;
    tell(trouble);
    return;
  }
  if (!pace.isNewest(number)) return;
  boat.mistakes([]);
  notices.clear("files", "mistakes", "broken");
  answer.show(found);
  boat.minded(found.warnings, found.defaults);
  changed.told(found.changed);
  notices.disk(found.state, open);
  say(answer.sentence, answer.minds);
  slow.begin({ changes: asked, number, loads: boat.loadsInUse(), isNewest: () => pace.isNewest(number) });
}

// What is wrong stands beside its field in the words of `check`; the rest stands on top.
function tell(trouble) {
  if (trouble instanceof Mistaken) {
    const ofFiles = trouble.problems.every((one) => inFiles.has(one.said));
    answer.stale(ofFiles ? "there are mistakes in the files" : "what is typed now has a mistake");
    const left = boat.mistakes(trouble.problems).filter((one) => !inFiles.has(one.said));
    notices.clear("broken");
    if (left.length > 0) notices.mistakes(left);
    else notices.clear("mistakes");
    changed.mistaken(trouble.problems);
    say(trouble.inWords);
  } else if (trouble instanceof Broken) {
    answer.stale("there is none of what is typed now");
    broken(trouble, () => pace.begin("at once"));
  } else {
    throw trouble;
  }
}

function broken(trouble, again) {
  if (trouble.ended) notices.ended(trouble.message);
  else notices.broken(trouble.message, again);
}

// The boat as her files have her now, with what was changed still changed.
async function open(question = "boat") {
  let found;
  try {
    found = await asks.ask(question, {});
  } catch (trouble) {
    if (!(trouble instanceof Broken)) throw trouble;
    broken(trouble, () => open(question));
    answer.stale("there is none");
    return;
  }
  notices.clear("broken", "ended", "files", "mistakes", "disk");
  inFiles = new Set(found.problems.map((one) => one.said));
  document.getElementById("name").textContent = found.name;
  document.getElementById("about").textContent =
    `${found.folder_as_typed}: ${found.members} simulated passages, seed ${found.seed}, your risk is ${found.risk}.`;
  answer.named(found.name);
  changes.of(found.folder, found.changes);
  boat.lay(found.groups);
  changes.settle((place, value) => boat.says(place) === value);
  boat.show();
  changed.show();
  if (found.problems.length > 0) {
    notices.files(found.problems, open);
    boat.mistakes(found.problems);
  }
  notices.disk(found.state, open);
  if (!found.ready) answer.first(found.members);
  pace.begin("at once");
}

// The address with its key, put into a tab that has the page already: the key is taken anew.
window.addEventListener("hashchange", () => location.reload());

if (asks.hasKey) {
  keepAlive(asks, notices, open);
  open();
} else {
  notices.noKey();
  answer.nothing();
}
