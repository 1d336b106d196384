"""What is refused when a rulebook is read."""

from service.core.errors import Refusal


class RulebookBroken(Refusal):
    """A rule file lacks something without which a value must not be used."""

    code = "rulebook_broken"
    sentence = "Rule {rule}: {fault}."
