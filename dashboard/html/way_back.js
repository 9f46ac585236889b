// A sign-in at the identity provider ends at the board's first page. These two halves bring the
// lead back to the verdict it was begun for: in this tab alone, once, and not long afterwards.
const KEPT = 'barrelfit-way-back';
const LONGEST_MS = 600000;

function keep() {
  const place = location.pathname + location.search;
  sessionStorage.setItem(KEPT, JSON.stringify({ place, since: Date.now() }));
}

function begun(event) {
  if (event.target.closest('.st-key-sign-in')) keep();
}

function goBack() {
  const kept = JSON.parse(sessionStorage.getItem(KEPT) || 'null');
  sessionStorage.removeItem(KEPT);
  if (kept && Date.now() - kept.since < LONGEST_MS) location.replace(kept.place);
}

export default function ({ data }) {
  if (data.arrived) {
    goBack();
    return undefined;
  }
  keep(); // on a slow machine a click may come before anything listens
  document.addEventListener('click', begun, true);
  return () => document.removeEventListener('click', begun, true);
}
