"""Finds, in a record's JSON schema, what belongs at a path: its keys, its words, its kinds, and a phrase for it.

A path may hold the kind of a part as a step of its own, as the validator writes it. Must not know any form.
"""

from __future__ import annotations

from typing import Any

from diagnose.store.yaml_text import Loc

__all__ = ["branch_names", "known_keys", "known_words", "step_into", "wanted"]

Schema = dict[str, Any]


def step_into(root: Schema, loc: Loc) -> Schema:
    """Return the schema at a path, or an empty one where nothing is known."""
    schema = _plain(root, root)
    for step in loc:
        schema = _plain(root, _step(root, schema, step))
    return schema


def known_keys(root: Schema, loc: Loc) -> list[str]:
    """Return the keys a mapping at a path may have."""
    return list(step_into(root, loc).get("properties", {}))


def known_words(root: Schema, loc: Loc) -> list[str]:
    """Return the words a value at a path may be."""
    schema = step_into(root, loc)
    words = schema.get("enum", [schema["const"]] if "const" in schema else [])
    return [str(word) for word in words]


def branch_names(root: Schema, loc: Loc) -> list[str]:
    """Return the kinds a mapping at a path may be of."""
    return list(step_into(root, loc).get("discriminator", {}).get("mapping", {}))


def wanted(root: Schema, loc: Loc) -> str:
    """Return a phrase for what belongs at a path.

    >>> wanted({"properties": {"on": {"type": "boolean"}, "style": {"enum": ["blade", "bolted"]}}}, ("style",))
    'one of blade, bolted'
    """
    schema = step_into(root, loc)
    if words := known_words(root, loc):
        return f"one of {', '.join(words)}" if len(words) > 1 else words[0]
    if schema.get("type") == "array":
        return _array(schema)
    if "description" in schema and schema.get("type") == "string":
        return str(schema["description"])
    if "discriminator" in schema:
        return "a mapping with `kind:` and the keys of that kind"
    if "pattern" in schema:
        return "a name of small letters, digits and _"
    return _TYPES.get(str(schema.get("type")), "what the form asks for")


_TYPES = {
    "string": "text", "boolean": "true or false", "integer": "a whole number", "number": "a number",
    "object": "a mapping of keys and values", "null": "nothing",
}


def _array(schema: Schema) -> str:
    least, most = schema.get("minItems"), schema.get("maxItems")
    if least is not None and least == most:
        return f"a list of {least}, for example [{', '.join('ab'[:least])}]" if least <= 2 else f"a list of {least}"
    return "a list of at least one" if least else "a list"


def _step(root: Schema, schema: Schema, step: str | int) -> Schema:
    if isinstance(step, int):
        prefix = schema.get("prefixItems", [])
        found: Any = prefix[step] if step < len(prefix) else schema.get("items", {})
        return found if isinstance(found, dict) else {}
    if "discriminator" in schema:
        return {"$ref": schema["discriminator"]["mapping"].get(step, "#/$defs/")}
    properties = schema.get("properties", {})
    further = properties[step] if step in properties else schema.get("additionalProperties", {})
    return further if isinstance(further, dict) else {}


def _plain(root: Schema, schema: Schema) -> Schema:
    """Follow references, and drop the alternative of writing nothing."""
    for _ in range(10):
        if "$ref" in schema:
            schema = root.get("$defs", {}).get(schema["$ref"].rsplit("/", 1)[-1], {})
        elif "anyOf" in schema:
            schema = next((branch for branch in schema["anyOf"] if branch.get("type") != "null"), {})
        elif len(schema.get("patternProperties", {})) == 1 and "additionalProperties" not in schema:
            schema = {**schema, "additionalProperties": next(iter(schema["patternProperties"].values()))}
        else:
            break
    return schema
