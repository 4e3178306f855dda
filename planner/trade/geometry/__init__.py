"""The room and the kit as shapes: modules along a run, faces, the floor in plan."""
