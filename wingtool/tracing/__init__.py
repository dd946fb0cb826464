"""A real wing's outline from a photo, a pen trace or calipers, with its band."""

from typing import TYPE_CHECKING

from wingtool.lazy import front_door

if TYPE_CHECKING:
    from wingtool.tracing.band import (
        TracedSection,
        band_of,
        band_path,
        camber_of,
        draws,
        for_surrogate,
        measure_bands,
        measure_rows,
        narrowed,
        read_traced,
        traced,
        widest,
        write_traced,
    )
    from wingtool.tracing.datum import Datum, find_datum, top_datum
    from wingtool.tracing.fit.curve import ORDER as KULFAN_ORDER
    from wingtool.tracing.fit.slips import slips
    from wingtool.tracing.fit.solve import Fitted, fit_outline, left_open
    from wingtool.tracing.fit.start import nose_end
    from wingtool.tracing.likeness import Match, build_index, index_path, load_index, nearest
    from wingtool.tracing.photo import (
        DOT_MM,
        HOLE_MM,
        PAPERS,
        RING_MM,
        Photo,
        PhotoRefused,
        Plane,
        Sheet,
        clicked_readings,
        find_outline,
        outline_readings,
        plane_from_marks,
        plane_from_sheet,
        pose_of,
        read_photo,
        sheet,
    )
    from wingtool.tracing.readings import (
        Readings,
        as_drawn,
        missing_parts,
        points_readings,
        station_readings,
    )
    from wingtool.tracing.tables import read_columns

__getattr__ = front_door(__name__)
