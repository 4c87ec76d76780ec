"""Makes the string catalogue of the iPhone shell from the core's messages.

usage: make_strings.py MESSAGES.toml CATALOGUE.xcstrings            writes it
       make_strings.py MESSAGES.toml CATALOGUE.xcstrings --check    fails where it is not what would be written

The shell's screens take their words from the core, whatever the phone's language; the catalogue is for what the system
says for the app, and for translators. A number in a text becomes %lld, and any other name %@, in the order of the
English text.
"""

import json
import pathlib
import re
import sys
import tomllib

LANGUAGES = ("en", "es", "fr")
PLACEHOLDER = re.compile(r"\{([a-z_-]+)\}")


def unit(text: str) -> dict:
    """One text of the catalogue."""
    return {"stringUnit": {"state": "translated", "value": text}}


def text_of(text: str, order: list[str], counted: str | None) -> str:
    """With the placeholders of the system, numbered by their order in English."""

    def placeholder(found: re.Match) -> str:
        name = found.group(1)
        return f"%{order.index(name) + 1}${'lld' if name == counted else '@'}"

    return PLACEHOLDER.sub(placeholder, text.replace("%", "%%"))


def entry(message: dict) -> dict:
    """One message with all its languages and forms."""
    english = message["en"]
    order = list(dict.fromkeys(PLACEHOLDER.findall(english if isinstance(english, str) else english["other"])))
    counted = message.get("count")
    localizations = {}
    for language in LANGUAGES:
        texts = message[language]
        if isinstance(texts, str):
            localizations[language] = unit(text_of(texts, order, counted))
        else:
            forms = {form: unit(text_of(text, order, counted)) for form, text in sorted(texts.items())}
            localizations[language] = {"variations": {"plural": forms}}
    return {"comment": message["note"], "extractionState": "manual", "localizations": localizations}


def main() -> int:
    """Writes or compares."""
    source, target = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    messages = tomllib.loads(source.read_text(encoding="utf-8"))
    strings = {name: entry(message) for name, message in sorted(messages.items())}
    made = json.dumps({"sourceLanguage": "en", "strings": strings, "version": "1.0"}, ensure_ascii=False, indent=1) + "\n"
    if "--check" not in sys.argv:
        target.write_text(made, encoding="utf-8")
        return 0
    if target.read_text(encoding="utf-8") == made:
        return 0
    print(f"{target} is not what {source} makes: run {sys.argv[0]} {source} {target}")
    return 1


if __name__ == "__main__":
    sys.exit(main())
