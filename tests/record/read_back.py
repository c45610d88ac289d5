"""Reads a results folder with other people's parsers.

Needs: oem==0.4.5, ccsds-ndm-py==0.0.9, pyarrow==26.0.1 (general-purpose readers from PyPI). The package
ccsds-ndm 3.1.1, whose module has the same name, cannot serve: its reader of key-value attitude messages looks
for a field that version 2 of the standard does not have.
Called by tests/record/ccsds.rs with the folder as its only argument; fails by an exception.
"""

import json
import sys
from pathlib import Path

import ccsds_ndm
import pyarrow.parquet as pq
from oem import OrbitEphemerisMessage

folder = Path(sys.argv[1])

table = pq.read_table(folder / "record.parquet")
columns = {c["name"]: c for c in json.loads(table.schema.metadata[b"stillframe.columns"])}
assert list(columns) == table.column_names
assert columns["position_x_m"]["unit"] == "m" and columns["position_x_m"]["meaning"]
rows = {t: i for i, t in enumerate(table["time_s"].to_pylist())}

orbit = OrbitEphemerisMessage.open(folder / "orbit.oem")
(segment,) = orbit.segments
states = list(segment.states)
start = states[0].epoch
for state in states:
    row = rows[round((state.epoch - start).sec)]
    for axis, name in enumerate("xyz"):
        assert abs(state.position[axis] * 1e3 - table[f"position_{name}_m"][row].as_py()) < 0.6e-3
        assert abs(state.velocity[axis] * 1e3 - table[f"velocity_{name}_m_s"][row].as_py()) < 0.6e-6

again = ccsds_ndm.from_file(str(folder / "orbit.oem"))
assert len(again.segments[0].data.state_vector) == len(states)

attitude = ccsds_ndm.from_file(str(folder / "attitude.aem"))
meta, data = attitude.segments[0].metadata, attitude.segments[0].data
assert (meta.ref_frame_a, meta.ref_frame_b) == ("TEMEOFEPOCH", "SC_BODY_1"), (meta.ref_frame_a, meta.ref_frame_b)
lines = data.attitude_states
row = rows[0.0]
for value, name in zip(lines[0].values, ("qx", "qy", "qz", "qw"), strict=True):
    assert abs(value - table[f"attitude_{name}"][row].as_py()) < 1e-11, name

print(f"orbit {len(states)} lines, attitude {len(lines)} lines, record {table.num_rows} rows")
