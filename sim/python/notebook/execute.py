"""execute.py NOTEBOOK [FOLDER]: runs every cell of a notebook; an error in one ends it. Writes its pictures into FOLDER.

The notebook must be stored without outputs, and each of its code cells that draws must draw.
"""

import base64
import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from traitlets.config import Config


def main(path, folder=None):
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    if any(cell.outputs or cell.execution_count for cell in cells):
        sys.exit(f"{path} has outputs; clear them before it is committed")
    # Not by TCP, which others on the machine could listen to.
    config = Config({"KernelManager": {"transport": "ipc"}})
    NotebookClient(notebook, kernel_name="python3", timeout=300, config=config).execute()
    pictures = []
    for cell in cells:
        drawn = [out.data["image/png"] for out in cell.outputs if "image/png" in out.get("data", {})]
        if "plt." in cell.source and "subplots" in cell.source and not drawn:
            sys.exit(f"{path}: a cell draws nothing:\n{cell.source}")
        pictures += drawn
    for index, picture in enumerate(pictures if folder else []):
        Path(folder, f"{index}.png").write_bytes(base64.b64decode(picture))
    print(f"{path}: {len(cells)} cells run, {len(pictures)} pictures")


if __name__ == "__main__":
    main(*sys.argv[1:])
