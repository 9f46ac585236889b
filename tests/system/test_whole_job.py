"""From a machine on which nothing was set up to a report and the next job, by pages alone."""

import pytest

from tests.system.whole_job import PERSON, acted


@pytest.mark.system
@pytest.mark.long
@pytest.mark.timeout(2400)
def test_the_whole_job_is_done_without_a_file_or_a_command(tmp_path):
    times = acted(tmp_path)
    assert times["the first size"] <= 300
    assert times["from a new job to the first size"] <= 60
    assert times["from a new job to the next job's first size"] <= 60
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert PERSON in text
    for told in ("7001", "84.94", "iron-liner", "22.998", "P4", "B4", "W4"):
        assert told in text
