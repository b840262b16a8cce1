"""What runs meltkeeper as services; its one Python part is the installer."""
