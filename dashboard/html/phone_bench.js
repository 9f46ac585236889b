// The bench's screen on a phone: the same live page as at the bench.
import show from '/live.js';

const root = document.getElementById('live');
show({ data: JSON.parse(root.dataset.live), parentElement: root });
