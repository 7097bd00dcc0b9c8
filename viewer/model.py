"""The finished reducer as one GLB: a named node a part, equal solids shared, in metres below a root node.

mm inside; the root node scales by 0.001, because a GLB is in metres.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from geometry.reducer import Reducer, build
from viewer import palette

ROOT = "reducer"
SCALE = 0.001


def write(reducer: Reducer, path: Path) -> None:
    """Write every part that stays in the machine, each in its place, its node named as the part is in the program."""
    import trimesh
    from trimesh.visual.material import PBRMaterial

    scene = trimesh.Scene(base_frame="world")
    scene.graph.update(frame_to=ROOT, frame_from="world", matrix=np.diag([SCALE, SCALE, SCALE, 1.0]))
    for part in reducer.parts:
        if part.tool:
            continue
        shape = f"{part.spec.key[:12]}-{part.role}"
        if shape not in scene.geometry:
            solid = build(part)
            mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
            material = PBRMaterial(
                name=part.role, baseColorFactor=[*palette.role(part.role), 255], metallicFactor=0.1, roughnessFactor=0.7
            )
            mesh.visual = trimesh.visual.TextureVisuals(material=material)
            scene.geometry[shape] = mesh
        scene.graph.update(frame_to=part.name, frame_from=ROOT, matrix=part.pose, geometry=shape)
    path.write_bytes(scene.export(file_type="glb"))
