"""The base of all data of the domain: frozen, and refusing what it does not know."""

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """Immutable data; an unknown field is an error, so that a typing slip never passes silently."""

    model_config = ConfigDict(frozen=True, extra="forbid", ser_json_inf_nan="constants")
