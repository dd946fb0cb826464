"""Physical constants, SI."""

GRAVITY_M_S2 = 9.80665  # standard gravity, ISO 80000-3
GAS_CONSTANT_AIR_J_KG_K = 287.05287  # ISO 2533:1975
SEA_LEVEL_PRESSURE_PA = 101325.0  # ISO 2533:1975
SEA_LEVEL_TEMPERATURE_K = 288.15  # ISO 2533:1975
LAPSE_RATE_K_M = 0.0065  # ISO 2533:1975, up to 11 km
# variables by which linear algebra is told to use one thread
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
# new objects between two looks for cycles: imports make many objects and no cycles, looking takes a tenth
OBJECTS_PER_COLLECTION = 200_000
