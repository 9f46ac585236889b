"""The message bus: the broker, the one MQTT door, what goes over it and in which form."""
