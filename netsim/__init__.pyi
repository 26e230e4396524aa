from netsim.api.advice import Advice as Advice
from netsim.api.advice import bench as bench
from netsim.api.advice import compare as compare
from netsim.api.advice import design as design
from netsim.api.advice import fit as fit
from netsim.api.advice import fix as fix
from netsim.api.advice import taps as taps
from netsim.api.networks import Networks as Networks
from netsim.api.networks import networks as networks
from netsim.api.result import Result as Result
from netsim.api.result import analyse as analyse
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
