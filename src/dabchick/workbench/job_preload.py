"""What nearly every piece of long work needs, brought in once; new processes then start from there.

Looking for the faults of one small mesh loads the compiled arithmetic too, which otherwise takes each process a second.
"""

import numpy as np

import dabchick.storage.folder
import dabchick.storage.mesh_look
import dabchick.storage.repair
import dabchick.studies.check
import dabchick.studies.fit_cylinder
import dabchick.studies.fit_slide
import dabchick.studies.trim  # noqa: F401
from dabchick.physics.surface import faults

CORNERS = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
FACES = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])

faults(CORNERS, FACES)
