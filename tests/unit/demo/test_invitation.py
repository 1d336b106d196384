import json
import shlex
from pathlib import Path

import pytest

from service.demo.invitation import IN_WORDS, curl_lines

README = Path(__file__).parents[3] / "README.md"


def test_the_readme_shows_the_lines_the_demo_prints():
    shown = [line for line in README.read_text().splitlines() if line.startswith("curl ")]
    assert shown == list(curl_lines(IN_WORDS))


@pytest.mark.parametrize("line", curl_lines(IN_WORDS))
def test_a_line_is_one_command_for_a_shell(line: str):
    assert "\n" not in line
    assert shlex.split(line)[0] == "curl"


def test_the_job_in_the_first_line_is_json():
    words = shlex.split(curl_lines(IN_WORDS)[0])
    assert json.loads(words[words.index("-d") + 1])["lawn_id"] == "LAWN"
