"""An amplifier file to start from, with a comment for every figure that its owner has to find."""

from importlib.resources import files

TEMPLATE = "template.toml.j2"


def starter(schema: str) -> str:
    """Give the text of a valid amplifier file.

    Parameters
    ----------
    schema : str
        Name of the JSON Schema beside it, for editors.
    """
    from jinja2 import Template

    text = files("netsim.description").joinpath(TEMPLATE).read_text(encoding="utf-8")
    return str(Template(text, keep_trailing_newline=True).render(schema=schema))
