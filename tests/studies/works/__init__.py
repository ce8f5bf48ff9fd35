"""The eight studies as plans."""

from studies.works.glass_buoys import GLASS_BUOYS
from studies.works.library_stairs import LIBRARY_STAIRS
from studies.works.night_ferry import NIGHT_FERRY
from studies.works.rope_walk import ROPE_WALK
from studies.works.salt_market import SALT_MARKET
from studies.works.tide_table import TIDE_TABLE
from studies.works.weather_ledger import WEATHER_LEDGER
from studies.works.winter_moorings import WINTER_MOORINGS

STUDIES = (
    TIDE_TABLE,
    ROPE_WALK,
    GLASS_BUOYS,
    NIGHT_FERRY,
    SALT_MARKET,
    WINTER_MOORINGS,
    WEATHER_LEDGER,
    LIBRARY_STAIRS,
)
