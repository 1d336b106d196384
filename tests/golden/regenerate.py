"""Write the golden files anew. Look at the documents first; read the difference after."""

from tests.golden.cases import FOLDER, makers


def main() -> None:
    """Write every golden file and remove what is no longer made."""
    FOLDER.mkdir(exist_ok=True)
    made = makers()
    for path in FOLDER.iterdir():
        if path.name not in made:
            path.unlink()
    for name, make in made.items():
        (FOLDER / name).write_text(make(), encoding="utf-8")


if __name__ == "__main__":
    main()
