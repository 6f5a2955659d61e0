"""What nearly every piece of long work needs, brought in once; new processes then start from there.

Looking for the faults of one small mesh loads the compiled arithmetic too, which otherwise takes each process a second.
"""

import numpy as np
import PIL.JpegImagePlugin
import PIL.PngImagePlugin  # noqa: F401 - pictures of plans

import dabchick.storage.folder
import dabchick.storage.join
import dabchick.storage.mesh_look
import dabchick.storage.repair
import dabchick.storage.trace_file
import dabchick.studies.check
import dabchick.studies.fit_cylinder
import dabchick.studies.fit_slide
import dabchick.studies.prints
import dabchick.studies.space
import dabchick.studies.trace
import dabchick.studies.trim  # noqa: F401
from dabchick.physics.surface import faults

CORNERS = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
FACES = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])

faults(CORNERS, FACES)
