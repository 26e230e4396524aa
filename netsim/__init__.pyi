from netsim.api import Advice as Advice
from netsim.api import Networks as Networks
from netsim.api import Result as Result
from netsim.api import analyse as analyse
from netsim.api import compare as compare
from netsim.api import design as design
from netsim.api import fix as fix
from netsim.api import networks as networks
from netsim.api import taps as taps
from netsim.bench_api import bench as bench
from netsim.bench_api import fit as fit
from netsim.description.reader import Amplifier as Amplifier
from netsim.description.reader import loads as loads
from netsim.description.reader import read as read
from netsim.errors import BalanceError as BalanceError
from netsim.errors import DescriptionError as DescriptionError
from netsim.errors import DisagreementError as DisagreementError
from netsim.errors import EngineFailedError as EngineFailedError
from netsim.errors import EngineMissingError as EngineMissingError
from netsim.errors import NetsimError as NetsimError
from netsim.errors import OutputError as OutputError
from netsim.errors import Problem as Problem
from netsim.errors import SolveError as SolveError
from netsim.errors import UsageError as UsageError

__version__: str
