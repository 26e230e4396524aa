from netsim.description.reader import Amplifier as Amplifier
from netsim.description.reader import loads as loads
from netsim.description.reader import read as read

__version__: str
