// Sends a photo as it is, or what is told; the bench says what became of it. Nothing counts before
// its record is there.
const main = document.querySelector('main');
const words = JSON.parse(main.dataset.words || '{}');
const said = document.getElementById('words');
const input = document.getElementById('take');
const form = document.getElementById('tell');

async function send(path, body) {
  if (main.hasAttribute('aria-busy')) return;
  said.textContent = words.photo_sending;
  main.setAttribute('aria-busy', 'true');
  try {
    const answer = await fetch(path, { method: 'POST', body });
    said.textContent = await answer.text();
    if (answer.ok) location.reload();
  } catch {
    said.textContent = words.photo_not_sent;
  } finally {
    main.removeAttribute('aria-busy');
  }
}

const tell = (value, ask) => send('/tell', JSON.stringify({ do: 'answer', value, ask: Number(ask) }));

input?.addEventListener('change', async () => {
  const [file] = input.files;
  if (file) await send(`/photos/${encodeURIComponent(input.dataset.part)}`, file);
  input.value = '';
});
form?.addEventListener('submit', event => {
  event.preventDefault();
  tell(document.getElementById('value').value, form.dataset.ask);
});
main.addEventListener('click', event => {
  const { back, part, ask, value } = event.target.dataset || {};
  if (back) send(`/photos/${encodeURIComponent(part)}/back/${back}`, '');
  else if (value) tell(value, ask);
});
