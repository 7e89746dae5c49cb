"""The head and its parts: which parts there are, and which of them stands where."""

from typing import NamedTuple

from api.export.qif.xml import Element, Ids, put, put_ids
from daq.head.view import RecordView

HEAD = ("", "head")


class Product(NamedTuple):
    """paths: the assembly path of each (position, part)."""

    paths: dict[tuple[str, str], str]


def components_of(record: RecordView) -> list[tuple[str, str]]:
    """Every (position, part) that was decided on or measured; the head itself comes first."""
    asked: dict[tuple[str, str], None] = {HEAD: None}
    for decision in record.decisions:
        asked[decision.position, decision.part] = None
    for m in record.measurements:
        asked[m.position, part_of(m.characteristic)] = None
    return list(asked)


def part_of(characteristic: str) -> str:
    """The part a characteristic belongs to."""
    return characteristic.partition(".")[0]


def product(whole: Element, record: RecordView, ids: Ids) -> Product:
    """The Product block."""
    components = components_of(record)
    block = put(whole, "Product")
    kinds = {part: ids.next() for part in dict.fromkeys(part for _, part in components)}
    parts = put(block, "PartSet", n=str(len(kinds)))
    for part, id_ in kinds.items():
        made = put(parts, "Part", id=id_)
        put(put(made, "Header"), "Name", "cylinder head" if part == "head" else part)
        put(made, "ModelNumber", record.job.plan)
    assembly_id = ids.next()
    component_ids = {component: ids.next() for component in components}
    assembly = put(put(block, "AssemblySet", n="1"), "Assembly", id=assembly_id)
    put(put(assembly, "Header"), "Name", "head with its parts")
    put_ids(assembly, "ComponentIds", component_ids.values())
    placed = put(block, "ComponentSet", n=str(len(components)))
    for (position, part), id_ in component_ids.items():
        made = put(placed, "Component", id=id_, label=f"{part} {position}".strip())
        put(put(made, "Part"), "Id", kinds[part])
    put(put(block, "RootAssembly"), "Id", assembly_id)
    paths = {component: ids.next() for component in components}
    held = put(block, "AsmPaths", n=str(len(paths)))
    for component, id_ in paths.items():
        put_ids(put(held, "AsmPath", id=id_), "ComponentIds", [component_ids[component]])
    return Product(paths)
