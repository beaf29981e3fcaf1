"""From an answer to what its cautions depend on."""

from simcal.analysis.settle.result import SettleResult
from simcal.show.cautions import Hazard
from simcal.show.scales import Setting


def hazard(result: SettleResult, setting: Setting) -> Hazard:
    """What the cautions need to know of a settle run."""
    return Hazard(
        gas=setting.gas,
        highest_Pa=result.highest_Pa,
        lowest_Pa=min((p.target_Pa for p in result.points), default=setting.room_Pa),
        room_Pa=setting.room_Pa,
        stored_energy_J=result.stored_energy_J,
        stored_energy_method=result.stored_energy_method,
    )
