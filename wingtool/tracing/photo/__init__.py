"""What is done on a photo's pixels: sheet, camera, the section's edge, and what could put it wrong."""

from wingtool.tracing.photo.marks import DOT_MM, HOLE_MM, PAPERS, RING_MM, Sheet, plane_from_sheet, sheet
from wingtool.tracing.photo.outline import clicked_readings, find_outline, outline_readings
from wingtool.tracing.photo.picture import Photo, PhotoRefused, read_photo
from wingtool.tracing.photo.plane import Plane, plane_from_marks
from wingtool.tracing.photo.pose import pose_of
