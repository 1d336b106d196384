"""Write the golden files anew. Look at the documents first; read the difference after."""

from tests.golden.cases import FOLDER, texts


def main() -> None:
    """Write every golden file and remove what is no longer made."""
    FOLDER.mkdir(exist_ok=True)
    made = dict(texts())
    for path in FOLDER.iterdir():
        if path.name not in made:
            path.unlink()
    for name, text in made.items():
        (FOLDER / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
